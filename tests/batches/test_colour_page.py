"""The page on which the colour of soap is measured in a photo, and the note that tells of the scent."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from batches.forms.colour import WIDTH
from batches.models import ColourReading, Cure, CureNote
from batches.services.colour import Place
from batches.services.cure import add_note
from shared.colour import GREY_CARD, difference
from tests.bad_input import NO_NUMBERS, STRANGE_TEXTS
from tests.batches.coloured import CLOSE, lab, measured, noted, record_url, tapped, url
from tests.batches.curing import cut_days_ago, poured
from tests.batches.photos import DAYLIGHT, LAMP, SOAP, beside_card
from tests.core.pictures import jpeg
from tests.factories import JugFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


@pytest.fixture
def cure(shop) -> Cure:
    """Cut thirty days ago into ten bars."""
    return cut_days_ago(shop, 30)


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
