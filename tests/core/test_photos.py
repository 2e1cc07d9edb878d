from __future__ import annotations

import os
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
import time_machine
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.test import Client
from django.urls import reverse
from PIL import Image, ImageCms, ImageDraw, ImageFile

from soapshop.core.models import Photo
from soapshop.core.services import photos
from soapshop.core.services.files import UNFINISHED_FOR
from soapshop.core.services.photos import store_photo
from tests.core.pictures import bomb, encoded, exif, jpeg, picture, upload
from tests.factories import WorkshopFactory

NOON = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)


def opened(photo: Photo, size: str = "full") -> Image.Image:
    with Image.open(getattr(photo, size).path) as image:
        image.load()
        return image


def is_reddish(pixel: tuple[int, ...]) -> bool:
    return pixel[0] > 150 and pixel[2] < 100


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_each_kind_of_picture_a_phone_makes_is_kept_as_jpeg(maker, kind):
    photo = store_photo(upload=upload(encoded(picture((640, 480)), kind), f"soap.{kind.lower()}"), by=maker)

    full, thumb = opened(photo), opened(photo, "thumb")

    assert (full.format, full.size, (photo.width, photo.height)) == ("JPEG", (640, 480), (640, 480))
    assert (thumb.format, thumb.size) == ("JPEG", (480, 360))
    assert is_reddish(full.getpixel((20, 20)))
    assert photo.added_by == maker


def test_a_picture_is_known_by_what_is_in_it_and_not_by_its_name(maker):
    photo = store_photo(upload=upload(jpeg(), "notes.txt", "text/plain"), by=maker)

    assert opened(photo).format == "JPEG"


def test_a_large_picture_is_made_smaller(maker):
    photo = store_photo(upload=upload(jpeg((4000, 3000))), by=maker)

    assert opened(photo).size == (2048, 1536)
    assert opened(photo, "thumb").size == (480, 360)


@pytest.mark.parametrize("kind", ["JPEG", "HEIF", "WEBP"])
def test_nothing_is_kept_but_the_picture(maker, kind):
    content = encoded(picture(), kind, exif=exif("2026:05:01 08:30:00").tobytes(), xmp=b"<x>secret place</x>")

    photo = store_photo(upload=upload(content), by=maker)

    for size in ("full", "thumb"):
        kept = opened(photo, size)
        assert not kept.getexif()
        assert not kept.info.keys() & {"exif", "xmp", "comment", "icc_profile", "photoshop"}
        raw = Path(getattr(photo, size).path).read_bytes()
        assert b"Invented Cameras" not in raw
        assert b"secret" not in raw


def test_a_comment_in_a_jpeg_is_not_kept(maker):
    photo = store_photo(upload=upload(jpeg(comment=b"from the kitchen of Jo")), by=maker)

    assert b"kitchen" not in Path(photo.full.path).read_bytes()


def test_a_picture_held_sideways_is_turned_upright(maker):
    photo = store_photo(upload=upload(jpeg((60, 40), exif=exif(orientation=6).tobytes())), by=maker)

    kept = opened(photo)

    assert kept.size == (40, 60)
    assert is_reddish(kept.getpixel((20, 5)))
    assert not is_reddish(kept.getpixel((20, 55)))


def test_what_is_transparent_becomes_white(maker):
    clear = Image.new("RGBA", (40, 40), (0, 0, 0, 0))

    kept = opened(store_photo(upload=upload(encoded(clear, "PNG")), by=maker))

    assert kept.getpixel((20, 20)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["1", "L", "P", "CMYK", "I;16", "LA"])
def test_any_mode_of_pixels_becomes_plain_colour(maker, mode):
    kind = "JPEG" if mode == "CMYK" else "PNG"

    kept = opened(store_photo(upload=upload(encoded(Image.new(mode, (40, 40)), kind)), by=maker))

    assert kept.mode == "RGB"


def test_a_colour_profile_is_applied_and_not_kept(maker):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

    kept = opened(store_photo(upload=upload(jpeg(icc_profile=profile)), by=maker))

    assert "icc_profile" not in kept.info
    assert is_reddish(kept.getpixel((5, 5)))


def test_a_damaged_profile_does_not_cost_the_picture(maker):
    kept = opened(store_photo(upload=upload(jpeg(icc_profile=b"no profile at all")), by=maker))

    assert is_reddish(kept.getpixel((5, 5)))


@pytest.mark.parametrize(
    ("taken", "offset", "expected"),
    [
        pytest.param(
            "2026:05:01 08:30:00", "+05:30", datetime(2026, 5, 1, 3, 0, tzinfo=UTC), id="own offset"
        ),
        pytest.param(
            "2026:05:01 08:30:00", None, datetime(2026, 5, 1, 6, 30, tzinfo=UTC), id="workshop's zone"
        ),
        pytest.param("2026:05:01 08:30:00", "soon", datetime(2026, 5, 1, 6, 30, tzinfo=UTC), id="bad offset"),
        pytest.param("2027:01:01 00:00:00", None, NOON, id="in the future"),
        pytest.param("1970:01:01 00:00:00", None, NOON, id="clock never set"),
        pytest.param("0000:00:00 00:00:00", None, NOON, id="empty clock"),
        pytest.param("yesterday", None, NOON, id="words"),
        pytest.param(None, None, NOON, id="no date"),
    ],
)
@time_machine.travel(NOON, tick=False)
def test_the_day_comes_from_the_camera_where_it_is_credible(maker, taken, offset, expected):
    WorkshopFactory(time_zone="Europe/Vienna")

    photo = store_photo(upload=upload(jpeg(exif=exif(taken, offset).tobytes())), by=maker)

    assert photo.taken_at == expected


@pytest.mark.parametrize(
    ("content", "message"),
    [
        pytest.param(b"Dear diary, today I made soap.", photos.NO_PICTURE, id="text"),
        pytest.param(b"", photos.NO_PICTURE, id="empty"),
        pytest.param(b"<svg xmlns='http://www.w3.org/2000/svg'/>", photos.NO_PICTURE, id="svg"),
        pytest.param(b"GIF89a" + b"\0" * 40, photos.NO_PICTURE, id="gif"),
        pytest.param(b"%PDF-1.7\n", photos.NO_PICTURE, id="pdf"),
        pytest.param(jpeg((640, 480))[:900], photos.DAMAGED, id="truncated jpeg"),
        pytest.param(encoded(picture((640, 480)), "HEIF")[:400], photos.DAMAGED, id="truncated heic"),
        pytest.param(encoded(picture((640, 480)), "PNG")[:60], photos.DAMAGED, id="truncated png"),
        pytest.param(bomb(), photos.TOO_MANY_PIXELS, id="bomb"),
        pytest.param(bomb(8_000, 8_000), photos.TOO_MANY_PIXELS, id="small bomb"),
        pytest.param(b"\0" * (photos.MOST_BYTES + 1), photos.TOO_BIG, id="too many bytes"),
    ],
)
def test_anything_else_is_refused_with_a_clear_message(maker, content, message, settings):
    with pytest.raises(ValidationError) as refused:
        store_photo(upload=upload(content), by=maker)

    assert refused.value.messages == [message]
    assert not Photo.objects.exists()
    assert not list(Path(settings.MEDIA_ROOT).rglob("*.jpg"))


@pytest.mark.usefixtures("db")
def test_a_picture_that_is_cut_off_is_refused_though_a_library_told_pillow_to_take_it(maker, monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)  # as WeasyPrint does when it is loaded

    with pytest.raises(ValidationError, match="damaged"):
        store_photo(upload=upload(jpeg((640, 480))[:900]), by=maker)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_picture_with_any_byte_broken_is_kept_or_refused_but_never_breaks_the_app(db, kind):
    image = picture((48, 32))
    ImageDraw.Draw(image).ellipse((4, 4, 40, 28), fill="green")
    whole = encoded(image, kind, exif=exif("2026:05:01 08:30:00").tobytes())

    for place in range(0, len(whole), max(1, len(whole) // 60)):
        broken = bytearray(whole)
        broken[place] ^= 0xFF
        assert kept_or_refused(bytes(broken))


def kept_or_refused(content: bytes) -> bool:
    try:
        kept, taken_at = photos.read_picture(upload(content), zone=UTC)
    except ValidationError as refused:
        return refused.messages[0] in {photos.NO_PICTURE, photos.DAMAGED, photos.TOO_MANY_PIXELS}
    return kept.mode == "RGB" and taken_at.tzinfo is not None


def test_a_viewer_adds_no_picture(viewer):
    with pytest.raises(PermissionDenied):
        store_photo(upload=upload(jpeg()), by=viewer)


def files_under(folder: Path) -> list[Path]:
    return [path for path in Path(folder).rglob("*") if path.is_file()]


@pytest.mark.django_db(transaction=True)
def test_a_committed_picture_leaves_two_files_and_no_marker(maker, settings):
    photo = store_photo(upload=upload(jpeg()), by=maker)

    assert set(files_under(settings.MEDIA_ROOT)) == {Path(photo.full.path), Path(photo.thumb.path)}


@pytest.mark.django_db(transaction=True)
def test_files_of_a_failed_transaction_go_once_they_are_old(maker, settings):
    with transaction.atomic():
        lost = store_photo(upload=upload(jpeg()), by=maker)
        transaction.set_rollback(True)
    (marker,) = (Path(settings.MEDIA_ROOT) / "unfinished").iterdir()

    young = store_photo(upload=upload(jpeg()), by=maker)
    assert Path(lost.full.path).exists()

    long_ago = time.time() - UNFINISHED_FOR - 1
    os.utime(marker, (long_ago, long_ago))
    store_photo(upload=upload(jpeg()), by=maker)

    assert not marker.exists()
    assert not Path(lost.full.path).exists()
    assert not Path(lost.thumb.path).exists()
    assert Path(young.full.path).exists()


@pytest.mark.django_db(transaction=True)
def test_an_old_marker_of_a_kept_picture_costs_nothing_but_itself(maker, settings):
    photo = store_photo(upload=upload(jpeg()), by=maker)
    marker = Path(settings.MEDIA_ROOT) / "unfinished" / str(photo.pk)
    marker.write_text(f"{photo.full.name}\n{photo.thumb.name}")
    long_ago = time.time() - UNFINISHED_FOR - 1
    os.utime(marker, (long_ago, long_ago))

    store_photo(upload=upload(jpeg()), by=maker)

    assert not marker.exists()
    assert Path(photo.full.path).exists()


@pytest.mark.parametrize("size", ["full", "thumb"])
def test_the_signed_in_see_a_picture_and_keep_it(maker, viewer, client_of, size):
    photo = store_photo(upload=upload(jpeg()), by=maker)
    client = client_of(viewer)

    answer = client.get(reverse("core:photo", args=[photo.pk, size]))

    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"].startswith("inline")
    assert "private" in answer["Cache-Control"]
    assert "immutable" in answer["Cache-Control"]
    assert b"".join(answer.streaming_content) == Path(getattr(photo, size).path).read_bytes()
    again = client.get(
        reverse("core:photo", args=[photo.pk, size]), headers={"if-none-match": answer["ETag"]}
    )
    assert again.status_code == 304


def test_no_one_else_sees_a_picture(maker):
    photo = store_photo(upload=upload(jpeg()), by=maker)

    answer = Client().get(reverse("core:photo", args=[photo.pk, "full"]), headers={"if-none-match": "*"})

    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("core:sign_in"))


def test_a_picture_of_another_size_or_without_its_file_is_not_found(maker, client_of):
    photo = store_photo(upload=upload(jpeg()), by=maker)
    Path(photo.thumb.path).unlink()
    client = client_of(maker)

    assert client.get(reverse("core:photo", args=[photo.pk, "huge"])).status_code == 404
    assert client.get(reverse("core:photo", args=[photo.pk, "thumb"])).status_code == 404
