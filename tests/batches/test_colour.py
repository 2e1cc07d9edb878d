"""The colour of soap, measured in photos: from what is tapped to what the record says."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.storage import default_storage
from django.urls import reverse
from PIL import Image

from batches.explain_colour import explain_colour
from batches.models import Batch, Cure, CureNote
from batches.queries.colour import colour_record, readings_of, settled_readings
from batches.queries.cure import cure_record
from batches.queries.picture import picture_of
from batches.services.colour import Place, patch, remove
from batches.services.cure import add_note
from batches.services.pour import undo_pour
from shared.bar_picture import BarPicture
from shared.colour import GREY_CARD, Lab, difference, to_hex
from shared.cross_section import Layer
from soapshop.core.queries import history_of
from tests.batches.bench import Bench
from tests.batches.coloured import CHARCOAL, CLOSE, CREAM, lab, measured, noted, record_url, seen, tapped, url
from tests.batches.curing import cut_days_ago, days_ago, poured
from tests.batches.photos import BAR, DAYLIGHT, LAMP, SECOND, SOAP, beside_card
from tests.factories import JugFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


@pytest.fixture
def cure(shop) -> Cure:
    """Cut thirty days ago into ten bars."""
    return cut_days_ago(shop, 30)


# Measured.


@pytest.mark.parametrize("light", [DAYLIGHT, LAMP])
@pytest.mark.parametrize("soap", [SOAP, CHARCOAL, CREAM, Lab(55, 35, 10), Lab(60, -20, 30)])
def test_the_colour_comes_out_of_a_photo_in_any_mild_light(shop, cure, light, soap):
    [reading] = measured(shop, noted(shop, cure, beside_card(soap, light=light)))

    assert difference(lab(reading), soap) < CLOSE


def test_a_grey_card_does_as_well(shop, cure):
    note = noted(shop, cure, beside_card(CHARCOAL, light=LAMP, card=GREY_CARD))

    [reading] = measured(shop, note, card_kind="grey")

    assert difference(lab(reading), CHARCOAL) < CLOSE


def test_each_portion_has_a_reading_of_its_own(shop, cure):
    dark, light = (JugFactory(batch=cure.batch, name=name) for name in ("Charcoal", "Cream"))
    note = noted(shop, cure, beside_card(CHARCOAL, CREAM))

    measured(shop, note, places={dark.pk: BAR, light.pk: SECOND})

    by_jug = {reading.jug: lab(reading) for reading in note.readings.all()}
    assert by_jug.keys() == {dark, light}
    assert difference(by_jug[dark], CHARCOAL) < CLOSE
    assert difference(by_jug[light], CREAM) < CLOSE


def test_measured_again_it_replaces_what_was_there(shop, cure):
    note = noted(shop, cure, beside_card(CHARCOAL, CREAM))
    measured(shop, note)
    measured(shop, note, places={None: SECOND})

    assert difference(lab(note.readings.get()), CREAM) < CLOSE
    assert [line.what.split()[0] for line in history_of(cure.batch)][:2] == ["Measured", "Measured"]


def test_the_same_sent_twice_counts_once(shop, cure):
    note = noted(shop, cure, beside_card())
    first, second = (measured(shop, note) for _ in range(2))

    assert [each.pk for each in first] == [each.pk for each in second]
    assert sum("Measured the colour" in line.what for line in history_of(cure.batch)) == 1


def test_the_picture_of_the_batch_takes_the_colour_that_was_measured(shop, cure):
    jug = JugFactory(batch=cure.batch, name="Charcoal")
    look = BarPicture(layers=(Layer("#ffffff", 1.0, "Charcoal"),), width=None, height=None)
    Batch.objects.filter(pk=cure.batch_id).update(picture=look.to_json())

    [reading] = measured(shop, noted(shop, cure, beside_card(CHARCOAL)), places={jug.pk: BAR})

    [layer] = picture_of(Batch.objects.get(pk=cure.batch_id)).look.layers
    assert layer.colour == to_hex(lab(reading))


def test_a_glint_and_a_crumb_in_the_disc_do_not_count(shop):
    picture = Image.new("RGB", (1000, 1000), (120, 100, 80))
    picture.paste((255, 255, 255), (492, 492, 500, 500))
    picture.paste((0, 0, 0), (502, 502, 510, 510))

    assert patch(picture, Place(Decimal("0.5"), Decimal("0.5"))) == (120, 100, 80)


def test_at_the_edge_and_in_a_tiny_photo_there_is_a_colour_too(shop):
    for size in ((1, 1), (3, 2000), (1000, 800)):
        for x, y in ((0, 0), (1, 1), (0, 1)):
            picture = Image.new("RGB", size, (120, 100, 80))
            assert patch(picture, Place(Decimal(x), Decimal(y))) == (120, 100, 80)


# Refused.


def refused(shop: Bench, note: CureNote, **changed) -> dict[str, list[str]]:
    with pytest.raises(ValidationError) as caught:
        measured(shop, note, **changed)
    assert not note.readings.exists()
    error = caught.value
    return error.message_dict if hasattr(error, "error_dict") else {"": error.messages}


@pytest.mark.parametrize(
    ("photo", "field", "says"),
    [
        (beside_card(light=(1, 1, 1), card=Lab(100, 0, 0)), "card", "too bright"),
        (beside_card(light=(0.03, 0.03, 0.03)), "card", "too dark"),
        (beside_card(light=DAYLIGHT, card=Lab(60, 40, 40)), "card", "strongly coloured"),
        (beside_card(light=DAYLIGHT, card=Lab(60, 0, 0)), "bar", "brighter than white"),
        (beside_card(Lab(100, 0, 0), light=(1, 1, 1)), "bar", "too bright"),
    ],
)
def test_what_is_wrong_is_said_of_the_card_or_of_the_soap(shop, cure, photo, field, says):
    [(name, [words])] = refused(shop, noted(shop, cure, photo)).items()

    assert name == field
    assert says in words


def test_a_photo_without_a_card_is_refused_in_words(shop, cure):
    told = refused(shop, noted(shop, cure, beside_card(card=None, light=LAMP)))

    assert told.keys() == {"card"}
    assert "Mark a white or grey card, or take the photo in daylight." in told["card"][0]


def test_what_is_wrong_with_a_portion_is_said_of_it_alone(shop, cure):
    jugs = [JugFactory(batch=cure.batch) for _ in range(2)]
    note = noted(shop, cure, beside_card(SOAP, Lab(100, 0, 0), light=(1, 1, 1)))

    told = refused(shop, note, places={jugs[0].pk: BAR, jugs[1].pk: SECOND})

    assert told.keys() == {f"jug_{jugs[1].pk}"}


def test_the_card_alone_is_not_enough(shop, cure):
    assert "Tap the soap too" in refused(shop, noted(shop, cure, beside_card()), places={})[""][0]


def test_only_portions_of_the_batch_are_measured(shop, cure):
    note = noted(shop, cure, beside_card())
    assert "not one of" in refused(shop, note, places={987: BAR})[""][0]
    dropped = JugFactory(batch=cure.batch, dropped=True)
    assert "not one of" in refused(shop, note, places={dropped.pk: BAR})[""][0]
    JugFactory(batch=cure.batch)
    assert "not one of" in refused(shop, note, places={None: BAR})[""][0]


def test_words_alone_have_no_colour(shop, cure):
    note = add_note(cure=cure, words="Grey", photo=None, key=uuid4(), by=shop.maker)

    assert "no photo" in refused(shop, note)[""][0]


def test_a_photo_whose_file_is_lost_says_so(shop, cure):
    note = noted(shop, cure, beside_card())
    default_storage.delete(str(note.photo.full))

    assert "cannot be read" in refused(shop, note)[""][0]


def test_after_the_pour_was_undone_nothing_is_measured_or_removed(shop):
    fresh = poured(shop, 3)
    note = noted(shop, fresh, beside_card())
    undo_pour(batch=fresh.batch, reason="Wrong mould", by=shop.maker)

    assert "was undone" in refused(shop, note)[""][0]
    with pytest.raises(ValidationError, match="was undone"):
        remove(note=note, by=shop.maker)


def test_viewers_measure_nothing(shop, cure, viewer, client_of):
    note = noted(shop, cure, beside_card())
    with pytest.raises(PermissionDenied):
        measured(shop, note, by=viewer)
    with pytest.raises(PermissionDenied):
        remove(note=note, by=viewer)

    looking = client_of(viewer)
    assert looking.get(url(note)).status_code == 403
    assert looking.post(url(note), tapped()).status_code == 403
    assert looking.post(url(note, "colour_remove")).status_code == 403
    assert url(note) not in looking.get(record_url(note)).content.decode()


# Removed.


def test_what_was_measured_is_removed_once_and_the_photo_stays(shop, cure, phone):
    note = noted(shop, cure, beside_card())
    measured(shop, note)

    for _ in range(2):
        assert phone.post(url(note, "colour_remove")).url == record_url(note)

    assert not note.readings.exists()
    assert CureNote.objects.get().photo
    assert sum("Removed the colour" in line.what for line in history_of(cure.batch)) == 1


# The record.


def test_without_a_reading_a_maker_is_told_how_and_a_viewer_nothing(shop, cure, phone, viewer, client_of):
    page = reverse("batches:batch", args=[cure.batch_id])

    assert "Lay a white or grey card beside" in phone.get(page).content.decode()
    assert "grey card" not in client_of(viewer).get(page).content.decode()


def test_by_day_the_last_reading_of_a_day_counts(shop, cure):
    for days, lightness in ((31, 80), (10, 76), (0, 75), (0, 74)):
        seen(shop, cure, days, lightness)

    [portion] = cure_record(cure, days_ago(0)).colour.portions

    assert [(turn.day, turn.colour.lightness) for turn in portion.turns] == [(0, 80), (21, 76), (31, 74)]
    assert portion.latest.change.lightness == -6
    assert portion.latest.hex.startswith("#")


def test_portions_come_in_the_order_of_the_batch(shop, cure):
    second, first = (
        JugFactory(batch=cure.batch, name=name, position=at) for name, at in (("B", 2), ("A", 1))
    )
    for jug in (second, first, None):
        seen(shop, cure, 3, 70, jug)

    portions = colour_record(readings_of(cure.batch), cure.started_on).portions

    assert [(one.letter, one.name) for one in portions] == [("A", "The bar"), ("B", "A"), ("C", "B")]


def test_settled_portions_say_how_much_darker_they_are(shop, cure):
    settled, moving = (JugFactory(batch=cure.batch, name=name) for name in ("Charcoal", "Cream"))
    for days, dark, light in ((30, 50, 88), (9, 42, 80), (1, 42, 74)):
        seen(shop, cure, days, dark, settled)
        seen(shop, cure, days, light, moving)
    for days in (20, 1):
        seen(shop, cure, days, 70)

    assert settled_readings(cure.batch) == [("", 0), ("Charcoal", 8)]


def test_nothing_has_settled_within_a_week(shop, cure):
    seen(shop, cure, 3, 50)
    seen(shop, cure, 0, 50)

    assert settled_readings(cure.batch) == []


def test_the_record_says_whether_it_has_settled_and_why(shop, cure, phone):
    for days, lightness in ((30, 60), (9, 50), (0, 50)):
        reading = seen(shop, cure, days, lightness)

    page = phone.get(record_url(reading.note)).content.decode()

    assert "The colour has settled." in page
    assert "changed by 0.0 in the last 9 days" in page


def test_figures_open_to_how_they_came_about(shop, cure):
    assert explain_colour(None) == ()
    seen(shop, cure, 9, 60)
    first = explain_colour(cure_record(cure, days_ago(0)).colour)
    seen(shop, cure, 0, 50)
    both = explain_colour(cure_record(cure, days_ago(0)).colour)

    assert [one.name for one in first] == ["The bar, day 22"]
    assert [one.name for one in both] == ["The bar, day 31", "The bar, change since the first photo"]
    assert "50.0" in both[0].figure
    assert both[1].entries[-1].name == "The colour is still growing darker."


def test_the_record_asks_the_same_of_two_readings_and_of_twenty(shop, cure, django_assert_num_queries):
    jugs = [JugFactory(batch=cure.batch) for _ in range(2)]
    for days in range(10):
        for jug in jugs:
            seen(shop, cure, days, 70 - days, jug)
        with django_assert_num_queries(1):
            colour_record(readings_of(cure.batch), cure.started_on)
        with django_assert_num_queries(1):
            settled_readings(cure.batch)


def test_the_page_asks_the_same_of_one_portion_and_of_eight(shop, cure, phone, django_assert_max_num_queries):
    note = noted(shop, cure, beside_card())
    for _ in range(8):
        JugFactory(batch=cure.batch)
        with django_assert_max_num_queries(8):
            assert phone.get(url(note)).status_code == 200
