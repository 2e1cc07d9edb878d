from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from batches.models import Cure, CureNote, State, Weighing
from batches.services.cure import cut
from batches.services.pour import pour
from inventory.models import Lot, Movement
from recipes.formulation import Size
from soapshop.core.models import Photo
from tests.batches.bench import bench, recipe
from tests.batches.pages import address, weigh, weigh_all, words
from tests.core.pictures import heic, jpeg, upload
from tests.factories import LotFactory, MaterialFactory

pytestmark = pytest.mark.django_db

PLANNED = {"as_planned": "on"}


def confirm(client, batch, **changed):
    return client.post(address("confirm", batch), {"words": "", "key": str(uuid4()), **changed})


def nothing_is_booked(batch) -> bool:
    batch.refresh_from_db()
    movements = Movement.objects.filter(kind=Movement.Kind.POURED)
    return batch.state == State.PLANNED and not movements.exists() and not Cure.objects.exists()


def at_of(moment) -> str:
    return timezone.localtime(moment).strftime("%Y-%m-%dT%H:%M")


# --- the last look --------------------------------------------------------------------------------


def test_planned_stands_beside_weighed_with_the_lots_and_what_differs(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "462")
    weigh_all(client, batch)

    page = words(client.get(address("confirm", batch)))

    assert f"Olive oil {shop.lots['Olive oil'].code} 450 g 462 g +12 g" in page
    assert "Safe superfat likely" in page


def test_what_is_not_weighed_yet_leads_back_to_the_bench(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")

    assert client.get(address("confirm", batch)).url == address("weigh", batch)
    confirm(client, batch)
    assert nothing_is_booked(batch)


def test_poured_as_planned_shows_the_lots_it_would_take_the_first_to_expire_first(client_of):
    shop = bench(quantity=300)
    later = {name: shop.lot(name) for name in shop.materials}
    batch = shop.plan()

    page = words(client_of(shop.maker).get(address("confirm", batch), PLANNED))

    assert f"{shop.lots['Olive oil'].code} 300 g, {later['Olive oil'].code} 150 g" in page


def test_what_is_short_stands_beside_its_line_and_cannot_be_poured(client_of):
    shop = bench(quantity=400)
    batch = shop.plan()
    client = client_of(shop.maker)

    page = client.get(address("confirm", batch), PLANNED)
    answer = confirm(client, batch, **PLANNED)

    assert "50 g short" in words(page)
    assert "disabled" in page.content.decode()
    assert answer.status_code == 422
    assert nothing_is_booked(batch)
    assert not Weighing.objects.exists()


# --- poured ---------------------------------------------------------------------------------------


def test_a_pour_takes_from_each_lot_exactly_what_was_weighed_and_stands_on_the_rack_with_its_note(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "462")
    weigh_all(client, batch)

    answer = confirm(client, batch, words="Light trace.", photo=upload(jpeg()))

    batch.refresh_from_db()
    assert answer.url == address("batch", batch)
    assert batch.state == State.POURED
    assert shop.on_hand("Olive oil") == 5000 - 462
    assert shop.on_hand("Coconut oil") == 5000 - 250
    note = CureNote.objects.get(cure__batch=batch)
    assert note.words == "Light trace."
    assert note.photo is not None


def test_the_quick_way_pours_as_planned(client_of):
    shop = bench()
    batch = shop.plan()

    confirm(client_of(shop.maker), batch, **PLANNED)

    batch.refresh_from_db()
    assert batch.state == State.POURED
    assert {name: shop.on_hand(name) for name in ("Olive oil", "Lye")} == {
        "Olive oil": 4550,
        "Lye": 5000 - 143,
    }


def test_the_rest_can_be_taken_as_planned_once_some_is_weighed(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "455")

    confirm(client, batch, **PLANNED)

    assert shop.on_hand("Olive oil") == 4545
    assert shop.on_hand("Coconut oil") == 4750


def test_a_pour_sent_twice_counts_once_and_the_second_goes_to_the_record_quietly(client_of):
    shop = bench()
    batch = shop.plan()
    client, key = client_of(shop.maker), str(uuid4())

    answers = [confirm(client, batch, key=key, words="Once", **PLANNED) for _ in range(2)]

    assert [answer.url for answer in answers] == [address("batch", batch)] * 2
    assert shop.on_hand("Olive oil") == 4550
    assert Cure.objects.count() == CureNote.objects.count() == 1


def test_two_batches_out_of_the_last_of_a_lot_one_is_poured_and_one_is_told(client_of):
    shop = bench(quantity=600)
    first, second = shop.plan(), shop.plan()
    client = client_of(shop.maker)
    weigh_all(client, first)
    weigh_all(client, second)

    assert confirm(client, first).status_code == 302
    answer = confirm(client, second, words="My words")

    assert answer.status_code == 422
    assert "300 g short" in words(answer)  # 450 g wanted of the 150 g that are left
    assert "My words" in answer.content.decode()
    second.refresh_from_db()
    assert second.state == State.PLANNED
    assert shop.on_hand("Olive oil") == 150


# --- pictures -------------------------------------------------------------------------------------


def test_a_heic_photo_of_a_phone_is_taken(client_of):
    shop = bench()

    answer = confirm(
        client_of(shop.maker), shop.plan(), photo=upload(heic(), "IMG_0001.HEIC", "image/heic"), **PLANNED
    )

    assert answer.status_code == 302
    assert Photo.objects.count() == 1


def test_the_camera_is_offered(client_of):
    shop = bench()
    page = client_of(shop.maker).get(address("confirm", shop.plan()), PLANNED).content.decode()

    assert 'capture="environment"' in page
    assert 'enctype="multipart/form-data"' in page


@pytest.mark.parametrize(
    ("photo", "says"),
    [
        (SimpleUploadedFile("soap.jpg", b"only words", content_type="image/jpeg"), "not a picture"),
        (SimpleUploadedFile("soap.jpg", b"", content_type="image/jpeg"), "empty"),
        (
            SimpleUploadedFile("soap.jpg", b"\xff\xd8" + 40_000_000 * b"\0", content_type="image/jpeg"),
            "larger than",
        ),
        (
            SimpleUploadedFile("soap.svg", b"<svg onload='alert(1)'/>", content_type="image/svg+xml"),
            "not a picture",
        ),
    ],
    ids=["text", "empty", "40 MB", "svg"],
)
def test_what_is_no_photo_is_refused_beside_its_field_and_nothing_is_poured(client_of, photo, says):
    shop = bench()
    batch = shop.plan()

    answer = confirm(client_of(shop.maker), batch, photo=photo, words="My words", **PLANNED)

    form = answer.context["form"]
    assert answer.status_code == 422
    assert says in form.errors["photo"][0]
    assert form["words"].value() == "My words"
    assert nothing_is_booked(batch)
    assert not Weighing.objects.exists()
    assert not Photo.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [("words", "x" * 10_000), ("words", "a\0b"), ("key", ""), ("key", "soap")],
)
def test_what_cannot_be_kept_is_refused_beside_its_field(client_of, field, value):
    shop = bench()
    batch = shop.plan()

    answer = confirm(client_of(shop.maker), batch, **{field: value}, **PLANNED)

    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert nothing_is_booked(batch)


def test_emoji_and_tags_are_kept_as_words(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    said = "🧼 <script>alert('trace')</script>"

    confirm(client, batch, words=said, **PLANNED)

    assert CureNote.objects.get().words == said
    assert "<script>alert" not in client.get(address("batch", batch)).content.decode()


# --- stop -----------------------------------------------------------------------------------------


def test_a_stop_is_not_poured_by_a_maker(client_of):
    shop = bench(superfat=0)
    batch = shop.plan()
    client = client_of(shop.maker)

    assert "Only an owner can let this be poured" in words(client.get(address("confirm", batch), PLANNED))
    answer = confirm(client, batch, stop_reason="I want to", **PLANNED)

    assert answer.status_code == 422
    assert "Stop: there is a" in words(answer)
    assert nothing_is_booked(batch)


def test_an_owner_lets_a_stop_be_poured_with_a_written_reason(client_of, owner):
    shop = bench(superfat=0)
    batch = shop.plan()
    client = client_of(owner)

    assert "Why it shall be poured all the same" in words(client.get(address("confirm", batch), PLANNED))
    for no_reason in ("", "   ", "x" * 401, "a\0b"):
        refused = confirm(client, batch, stop_reason=no_reason, **PLANNED)
        assert refused.status_code == 422
        assert refused.context["form"].errors["stop_reason"]
    assert nothing_is_booked(batch)

    confirm(client, batch, stop_reason="Laundry soap", **PLANNED)

    batch.refresh_from_db()
    assert (batch.state, batch.stop_reason) == (State.POURED, "Laundry soap")
    assert "Laundry soap" in words(client.get(address("batch", batch)))


def test_the_certificates_of_the_lots_to_be_taken_count_as_they_will_when_it_is_poured(client_of):
    shop = bench(quantity=400)
    for name in shop.materials:
        certified = {"sap": Decimal(120), "sap_uncertainty": Decimal(1)} if name == "Olive oil" else {}
        LotFactory(material=shop.materials[name], by=shop.maker, **certified)
    batch = shop.plan(size=Size(fats=Decimal(5000)))
    client = client_of(shop.maker)

    page = client.get(address("confirm", batch), PLANNED)
    answer = confirm(client, batch, **PLANNED)

    assert page.context["pouring"].stopped
    assert answer.status_code == 422
    assert nothing_is_booked(batch)


def test_a_pot_whose_acid_takes_all_the_lye_cannot_be_poured(client_of, owner):
    shop = bench()
    acid = MaterialFactory(name="Citric acid", additive=True, acid="citric")
    LotFactory(material=acid)
    version = recipe(shop.materials, by=shop.maker, name="Sour")
    version.ingredients.create(material=acid, amount=1, position=20)
    batch = shop.plan(version=version)
    client = client_of(owner)
    weigh(client, batch, "Citric acid", "4000")
    weigh_all(client, batch)

    assert "take up all the lye" in words(client.get(address("confirm", batch)))
    assert confirm(client, batch, stop_reason="No matter").status_code == 422
    assert nothing_is_booked(batch)


# --- undoing --------------------------------------------------------------------------------------


def test_undoing_says_what_goes_back_and_puts_it_back(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    confirm(client, batch, **PLANNED)

    page = words(client.get(address("undo", batch)))
    answer = client.post(address("undo", batch), {"reason": "Poured the wrong one"})
    again = client.post(address("undo", batch), {"reason": "Poured the wrong one"})

    batch.refresh_from_db()
    assert f"Olive oil, back into {shop.lots['Olive oil'].code} 450 g" in page
    assert answer.url == again.url == address("batch", batch)
    assert (batch.state, batch.closed_reason) == (State.UNDONE, "Poured the wrong one")
    assert shop.on_hand("Olive oil") == 5000


@pytest.mark.parametrize("reason", ["", "  ", "x" * 401, "a\0b"])
def test_undoing_needs_a_reason(client_of, reason):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    confirm(client, batch, **PLANNED)

    answer = client.post(address("undo", batch), {"reason": reason})

    assert answer.status_code == 422
    assert answer.context["form"].errors["reason"]
    assert shop.on_hand("Olive oil") == 4550


def test_a_batch_that_is_cut_is_not_undone(client_of):
    shop = bench()
    batch = pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True)
    today = timezone.localdate()
    cut(cure=batch.cure, on=today, bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)

    client_of(shop.maker).post(address("undo", batch), {"reason": "Too late"})

    batch.refresh_from_db()
    assert batch.state == State.CUT
    assert shop.on_hand("Olive oil") == 4550


def test_a_viewer_undoes_nothing(client_of, viewer):
    shop = bench()
    batch = pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True)
    client = client_of(viewer)

    assert client.get(address("undo", batch)).status_code == 403
    assert client.post(address("undo", batch), {"reason": "Because"}).status_code == 403
    assert shop.on_hand("Olive oil") == 4550


# --- how many queries -----------------------------------------------------------------------------


def test_the_last_look_asks_as_often_with_twenty_lines_as_with_ten(client_of, django_assert_max_num_queries):
    shop = bench()
    client = client_of(shop.maker)
    counts = []
    for fats in (10, 20):
        version = recipe(shop.materials, by=shop.maker, name=f"{fats} fats")
        version.ingredients.filter(material__kind="fat").delete()
        for number in range(fats):
            oil = MaterialFactory(name=f"Oil {fats}-{number}")
            for days in (30, 60):
                LotFactory(material=oil, quantity=50, best_before=timezone.localdate() + timedelta(days=days))
            version.ingredients.create(material=oil, amount=Decimal(100) / fats, position=number)
        batch = shop.plan(version=version, size=Size(fats=Decimal(500)))
        with django_assert_max_num_queries(15) as asked:
            assert client.get(address("confirm", batch), PLANNED).status_code == 200
        counts.append(len(asked))

    assert counts[0] == counts[1]
    assert Lot.objects.count() == 67


# --- written down later ---------------------------------------------------------------------------


def test_a_pour_written_down_the_next_day_stands_at_its_own_time(client_of):
    shop = bench()
    batch = shop.plan()
    yesterday = timezone.now() - timedelta(days=1)

    confirm(client_of(shop.maker), batch, **PLANNED, at=at_of(yesterday))

    assert batch.cure.started_on == timezone.localdate(yesterday)


@pytest.mark.parametrize(
    "typed",
    ["yesterday", "2026-13-45T99:00", "0001-01-01T00:00", "9999-12-31T23:59", "NaN", "\U0001f9fc", "-3"],
)
def test_a_moment_that_is_none_stands_with_its_error_and_nothing_is_poured(client_of, typed):
    shop = bench()
    batch = shop.plan()

    answer = confirm(client_of(shop.maker), batch, **PLANNED, at=typed, words="Smooth")

    assert answer.status_code == 422
    assert answer.context["form"].errors.keys() == {"at"}
    assert typed in answer.content.decode()
    assert "Smooth" in answer.content.decode()
    assert nothing_is_booked(batch)
