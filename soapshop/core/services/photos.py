"""Pictures from a phone: looked at, turned upright, made smaller, freed of all but the picture."""

from __future__ import annotations

import contextlib
import warnings
from datetime import datetime, tzinfo
from io import BytesIO
from typing import Any

import pillow_heif
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from PIL import ExifTags, Image, ImageCms, ImageFile, ImageOps, UnidentifiedImageError

from soapshop.core.access import require_maker
from soapshop.core.models import Photo, User
from soapshop.core.queries import workshop
from soapshop.core.services.files import delete_files, write_files

MOST_BYTES = 20_000_000
MOST_PIXELS = 60_000_000
FULL_SIDE, THUMB_SIDE = 2048, 480
QUALITY = 85
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
EXIF_BEGAN = 1995  # an earlier date comes from a camera whose clock was never set

TOO_BIG = _("This picture is larger than 20 MB. Send a smaller one.")
TOO_MANY_PIXELS = _("This picture has more than 60 million pixels. Send a smaller one.")
NO_PICTURE = _("This is not a picture that the app can read. Send a JPEG, PNG, WebP or HEIC photo.")
DAMAGED = _("This picture is damaged and cannot be read to its end. Send it again.")

pillow_heif.register_heif_opener()
# Pillow looks at the size that a file claims before it decodes anything. Above MAX it warns, above twice MAX
# it raises; as an error, the warning stops a small file that would unpack to fill the memory.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS
warnings.simplefilter("error", Image.DecompressionBombWarning)


@transaction.atomic
def store_photo(*, upload: UploadedFile[Any], by: User) -> Photo:
    """Keep an uploaded picture, in two sizes. Raises ValidationError with a message for the maker."""
    require_maker(by)
    picture, taken_at = read_picture(upload, zone=workshop().zone)
    photo = Photo(width=picture.width, height=picture.height, taken_at=taken_at, added_by=by)
    thumb = picture.copy()
    thumb.thumbnail((THUMB_SIDE, THUMB_SIDE), Image.Resampling.LANCZOS)
    write_files(
        row=photo,
        contents={
            "full": (f"{photo.pk}.jpg", _jpeg(picture)),
            "thumb": (f"{photo.pk}-thumb.jpg", _jpeg(thumb)),
        },
    )
    photo.save()
    return photo


@transaction.atomic
def forget_photo(*, photo: Photo, by: User) -> None:
    """Remove a picture that was taken back, with both its files once that is certain."""
    require_maker(by)
    names = [str(photo.full), str(photo.thumb)]
    photo.delete()
    transaction.on_commit(lambda: delete_files(names=names))


def read_picture(upload: UploadedFile[Any], *, zone: tzinfo) -> tuple[Image.Image, datetime]:
    """The picture upright in plain RGB, its longer side at most FULL_SIDE, and when it was taken.

    `zone` is that of the clock of a camera that does not say.
    """
    if (upload.size or 0) > MOST_BYTES:
        raise ValidationError(TOO_BIG)
    # Loading WeasyPrint, wherever that happens, tells Pillow to take pictures that are cut off.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with Image.open(upload, formats=FORMATS) as image:
            taken_at = _taken_at(image, zone)
            return _upright(image), taken_at
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise ValidationError(TOO_MANY_PIXELS) from error
    except UnidentifiedImageError as error:
        raise ValidationError(NO_PICTURE, code="no_picture") from error
    except Exception as error:  # on a damaged file the decoders raise whatever their code trips over
        raise ValidationError(DAMAGED) from error


def _upright(image: Image.Image) -> Image.Image:
    image.draft("RGB", (FULL_SIDE, FULL_SIDE))  # a large JPEG is decoded at a fraction of its size
    upright = ImageOps.exif_transpose(image)
    upright.thumbnail((FULL_SIDE, FULL_SIDE), Image.Resampling.LANCZOS)
    plain = _in_srgb(upright)
    plain.info = {}  # comments, profiles and the like, which some encoders would write out again
    return plain


def _in_srgb(image: Image.Image) -> Image.Image:
    """Colours as every screen shows them; what is transparent becomes white."""
    if image.has_transparency_data:
        image = image.convert("RGBA")
        white = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(white, image).convert("RGB")
    profile = image.info.get("icc_profile")
    if profile and image.mode in ("RGB", "CMYK", "L"):
        with contextlib.suppress(ImageCms.PyCMSError, OSError):  # a damaged profile: the colours as they are
            source = ImageCms.ImageCmsProfile(BytesIO(profile))
            srgb = ImageCms.createProfile("sRGB")
            image = ImageCms.profileToProfile(image, source, srgb, outputMode="RGB") or image
    return image.convert("RGB")


def _taken_at(image: Image.Image, zone: tzinfo) -> datetime:
    """What the camera's clock said; the time of arrival where it says nothing or nothing credible."""
    now = timezone.now()
    exif = image.getexif().get_ifd(ExifTags.IFD.Exif)
    clock = str(exif.get(ExifTags.Base.DateTimeOriginal, "")).strip("\0 ")
    offset = str(exif.get(ExifTags.Base.OffsetTimeOriginal, "")).strip("\0 ")
    try:
        taken = datetime.strptime(f"{clock} {offset}", "%Y:%m:%d %H:%M:%S %z")
    except ValueError:
        try:
            taken = datetime.strptime(clock, "%Y:%m:%d %H:%M:%S").replace(tzinfo=zone)
        except ValueError:
            return now
    return taken if taken.year >= EXIF_BEGAN and taken <= now else now


def _jpeg(picture: Image.Image) -> ContentFile[bytes]:
    file = BytesIO()
    picture.save(file, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return ContentFile(file.getvalue())
