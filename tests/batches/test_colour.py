"""The colour of soap, measured in photos: from what is tapped to what the record says."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from batches.explain_colour import explain_colour
from batches.forms.colour import WIDTH
from batches.models import Batch, ColourReading, Cure, CureNote
from batches.queries.colour import colour_record, readings_of, settled_readings
from batches.queries.cure import cure_record
from batches.queries.picture import picture_of
from batches.services.colour import Place, measure, patch, remove
from batches.services.cure import add_note
from batches.services.pour import undo_pour
from shared.bar_picture import BarPicture
from shared.colour import GREY_CARD, Lab, difference, to_hex
from shared.cross_section import Layer
from soapshop.core.queries import history_of
from tests.bad_input import NO_NUMBERS, STRANGE_TEXTS
from tests.batches.bench import Bench
from tests.batches.curing import cut_days_ago, days_ago, poured
from tests.batches.photos import BAR, CARD, DAYLIGHT, LAMP, SECOND, SOAP, beside_card
from tests.core.pictures import jpeg, upload
from tests.factories import ColourReadingFactory, JugFactory

pytestmark = pytest.mark.django_db

CHARCOAL, CREAM = Lab(42, 0, 2), Lab(88, 1, 12)
CLOSE = 2.0  # CIEDE2000; what a photo and its compression may add


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


@pytest.fixture
def cure(shop) -> Cure:
    """Cut thirty days ago into ten bars."""
    return cut_days_ago(shop, 30)


def noted(shop: Bench, cure: Cure, photo: bytes, days: int = 0) -> CureNote:
    at = timezone.now() - timedelta(days=days)
    return add_note(cure=cure, words="", photo=upload(photo), key=uuid4(), by=shop.maker, at=at)


def measured(shop: Bench, note: CureNote, **changed):
    said = {"card": CARD, "card_kind": "white", "places": {None: BAR}, "by": shop.maker}
    return measure(note=note, **{**said, **changed})


def lab(reading: ColourReading) -> Lab:
    return Lab(float(reading.lightness), float(reading.a), float(reading.b))


def seen(shop: Bench, cure: Cure, days: int, lightness: float, jug=None) -> ColourReading:
    """A reading of so many days ago."""
    at = timezone.now() - timedelta(days=days)
    note = add_note(cure=cure, words="Look", photo=None, key=uuid4(), by=shop.maker, at=at)
    return ColourReadingFactory(note=note, jug=jug, lightness=Decimal(str(lightness)))


def url(note: CureNote, name: str = "colour") -> str:
    return reverse(f"batches:{name}", args=[note.cure.batch_id, note.pk])


def record_url(note: CureNote) -> str:
    return reverse("batches:batch", args=[note.cure.batch_id]) + "#colour"


def tapped(**changed: str) -> dict[str, str]:
    """What the form sends with the card and the bar where they lie."""
    said = {"card_kind": "white", "next": "bar", "card_0": "15", "card_1": "50", "bar_0": "50", "bar_1": "50"}
    return {**said, **changed}


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


# The page.


def test_the_page_asks_for_the_card_and_for_each_portion(shop, cure, phone):
    JugFactory(batch=cure.batch, name="Charcoal")
    JugFactory(batch=cure.batch, name="Left out", dropped=True)
    note = noted(shop, cure, beside_card())

    form = phone.get(url(note)).context["form"]

    assert [str(row.field.label) for row in form.rows] == ["The card", "Charcoal"]
    assert form.asks == "Tap the white or grey card."


def test_a_tap_without_script_comes_back_as_a_page_that_shows_it(shop, cure, phone):
    note = noted(shop, cure, beside_card())
    nothing = {"card_kind": "white", "next": "card", "card_0": "", "card_1": "", "bar_0": "", "bar_1": ""}

    first = phone.get(phone.post(url(note), {**nothing, "tap.x": "43", "tap.y": "108"}).url).context["form"]

    assert first["card"].value() == ["15.10", "50.23"]
    assert (first.asked.name, first.asks) == ("bar", "Tap the bar.")
    carried = {**nothing, "next": "bar", "card_0": "15.10", "card_1": "50.23"}
    second = phone.get(phone.post(url(note), {**carried, "tap.x": "144", "tap.y": "107"}).url).context["form"]
    assert second["bar"].value() == ["50.17", "49.77"]
    assert "All is marked" in second.asks
    assert second.asked.name == "bar"


def test_the_mark_stands_where_the_tap_was(shop, cure, phone):
    note = noted(shop, cure, beside_card())

    sent = phone.post(url(note), tapped(card_0="", card_1="", next="card") | {"tap.x": "270", "tap.y": "10"})
    card, bar = phone.get(sent.url).context["form"].rows

    assert (card.x, card.y, card.anchor) == (
        pytest.approx(270.5, abs=0.1),
        pytest.approx(10.5, abs=0.1),
        "end",
    )
    assert (bar.x, bar.y, bar.anchor) == (WIDTH / 2, WIDTH * 480 / 640 / 2, "middle")


def test_what_is_no_tap_measures(shop, cure, phone):
    """Enter in a field sends the photo's button too, at 0, 0."""
    for x, y in (("0", "0"), ("-3", "4"), ("x", "4"), ("", ""), ("9" * 60, "1")):
        note = noted(shop, cure, beside_card())
        assert phone.post(url(note), tapped() | {"tap.x": x, "tap.y": y}).url == record_url(note)


def test_a_tap_far_outside_is_at_the_edge(shop, cure, phone):
    note = noted(shop, cure, beside_card())

    sent = phone.post(url(note), tapped(next="card") | {"tap.x": "99999", "tap.y": "99999"})

    assert phone.get(sent.url).context["form"]["card"].value() == ["100.00", "100.00"]


def test_measured_by_the_page_it_is_in_the_record(shop, cure, phone):
    note = noted(shop, cure, beside_card())

    for _ in range(2):
        assert phone.post(url(note), tapped()).url == record_url(note)

    assert difference(lab(ColourReading.objects.get()), SOAP) < CLOSE
    assert "How the colour turned" in phone.get(record_url(note)).content.decode()


def test_the_page_shows_what_was_measured_before(shop, cure, phone):
    note = noted(shop, cure, beside_card(card=GREY_CARD, light=DAYLIGHT))
    measured(shop, note, card_kind="grey", places={None: Place(Decimal("0.5125"), Decimal("0.5"))})

    form = phone.get(url(note)).context["form"]

    assert (form["card"].value(), form["bar"].value()) == (["15", "50"], ["51.25", "50"])
    assert form["card_kind"].value() == "grey"
    assert form.asked.name == "card"


def test_what_cannot_be_a_place_is_refused_beside_it_and_kept(shop, cure, phone):
    note = noted(shop, cure, beside_card())
    figures = [*NO_NUMBERS[1:], *STRANGE_TEXTS, "-1", "101", "1e9"]
    for name in ("card", "bar"):
        for bad in ("", *figures):
            page = phone.post(url(note), tapped(**{f"{name}_0": bad}))
            form = page.context["form"]
            assert (page.status_code, form.errors.keys()) == (422, {name}), bad
            assert form[name].value() == [bad, "50"]
            assert page.content.decode()

    assert not ColourReading.objects.exists()


def test_a_page_asked_for_with_nonsense_shows_it_and_marks_nothing(shop, cure, phone):
    note = noted(shop, cure, beside_card())
    for bad in (*NO_NUMBERS, *STRANGE_TEXTS):
        page = phone.get(url(note), {"next": bad, "card_0": bad, "card_1": "5", "card_kind": bad})
        assert page.status_code == 200
        assert [row.x for row in page.context["form"].rows] == [None, None]


def test_without_a_card_or_with_a_card_of_no_kind_it_is_refused_beside_it(shop, cure, phone):
    note = noted(shop, cure, beside_card())
    for posted, field in (
        (tapped(card_0="", card_1=""), "card"),
        (tapped(card_kind="pink"), "card_kind"),
        (tapped(bar_0="", bar_1=""), "__all__"),
    ):
        page = phone.post(url(note), posted)
        assert (page.status_code, page.context["form"].errors.keys()) == (422, {field})


def test_what_the_photo_tells_is_said_beside_the_card(shop, cure, phone):
    note = noted(shop, cure, beside_card(card=None, light=LAMP))

    page = phone.post(url(note), tapped())

    assert page.status_code == 422
    assert "strongly coloured" in page.context["form"].errors["card"][0]
    assert page.context["form"]["bar"].value() == ["50", "50"]


def test_there_is_no_page_for_words_alone_or_for_another_batch(shop, cure, phone):
    words = add_note(cure=cure, words="Grey", photo=None, key=uuid4(), by=shop.maker)
    elsewhere = noted(shop, poured(shop, 2), beside_card())

    assert phone.get(url(words)).status_code == 404
    assert phone.get(reverse("batches:colour", args=[cure.batch_id, elsewhere.pk])).status_code == 404


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


# The scent.


def test_how_strong_the_scent_is_can_be_all_that_a_note_says(cure, phone):
    page = reverse("batches:batch", args=[cure.batch_id])
    phone.post(reverse("batches:note", args=[cure.batch_id]), {"scent": "faint", "key": str(uuid4())})

    assert CureNote.objects.get().scent == "faint"
    assert "Scent: Faint" in phone.get(page).content.decode()


def test_no_such_strength_is_refused(cure, phone):
    for bad in STRANGE_TEXTS:
        posted = {"scent": bad, "words": "Nice", "key": str(uuid4())}
        page = phone.post(reverse("batches:note", args=[cure.batch_id]), posted)
        assert (page.status_code, page.context["form"].errors.keys()) == (422, {"scent"})


def test_a_photo_of_a_few_pixels_without_a_card_is_refused(shop, cure, phone):
    note = noted(shop, cure, jpeg())

    assert phone.post(url(note), tapped()).status_code == 422
