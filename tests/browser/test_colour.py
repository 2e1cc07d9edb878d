"""The colour of soap, measured with a thumb in a photo: with a script, by keyboard, and without either."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from batches.models import ColourReading, CureNote
from batches.services.colour import Place
from batches.services.cure import add_note
from shared.colour import Lab, difference
from tests.batches.bench import Bench, bench
from tests.batches.curing import cut_days_ago
from tests.batches.photos import BAR, CARD, LAMP, SECOND, beside_card
from tests.browser.conftest import Browsers
from tests.browser.steps import main, press
from tests.core.pictures import upload
from tests.factories import JugFactory

pytestmark = pytest.mark.browser

CHARCOAL, CREAM = Lab(42, 0, 2), Lab(88, 1, 12)
CLOSE = 2.0  # CIEDE2000


@pytest.fixture
def shop(transactional_db: None) -> Bench:
    return bench()


@pytest.fixture
def note(shop: Bench) -> CureNote:
    """A photo of two portions beside a white card, in the light of a lamp."""
    cure = cut_days_ago(shop, 7)
    for name in ("Charcoal", "Cream"):
        JugFactory(batch=cure.batch, name=name)
    photo = upload(beside_card(CHARCOAL, CREAM, light=LAMP))
    return add_note(cure=cure, words="", photo=photo, key=uuid4(), by=shop.maker)


def tap(page: Page, place: Place) -> None:
    photo = page.locator("[data-photo] input")
    photo.scroll_into_view_if_needed()
    box = photo.bounding_box()
    assert box
    page.touchscreen.tap(box["x"] + box["width"] * float(place.x), box["y"] + box["height"] * float(place.y))


def far_off() -> list[float]:
    """How far the readings lie from the true colours, by CIEDE2000."""
    true = {"Charcoal": CHARCOAL, "Cream": CREAM}
    return [
        difference(Lab(float(one.lightness), float(one.a), float(one.b)), true[one.jug.name])
        for one in ColourReading.objects.select_related("jug")
        if one.jug
    ]


def open_note(page: Page, note: CureNote) -> None:
    page.goto(reverse("batches:colour", args=[note.cure.batch_id, note.pk]))


def test_three_taps_measure_two_portions(browsers: Browsers, shop: Bench, note: CureNote) -> None:
    page = browsers.phone(shop.maker)
    page.goto(reverse("batches:batch", args=[note.cure.batch_id]))
    main(page).get_by_role("link", name="Measure the colour in the photo of day").tap()
    for asked, place in (("card", CARD), ("Charcoal", BAR), ("Cream", SECOND)):
        expect(page.locator("[data-asked]")).to_contain_text(asked)
        tap(page, place)
    expect(page.locator("[data-asked]")).to_contain_text("All is marked")
    expect(page.locator("[data-mark][transform]")).to_have_count(3)
    press(page, "Measure")

    expect(main(page)).to_contain_text("2 colours are in the record")
    expect(main(page)).to_contain_text("How the colour turned")
    assert len(far_off()) == 2
    assert max(far_off()) < CLOSE


def test_two_taps_and_no_script_measure_too(browsers: Browsers, shop: Bench, note: CureNote) -> None:
    page = browsers.phone(shop.maker, java_script_enabled=False)
    open_note(page, note)
    for asked, place in (("card", CARD), ("Charcoal", BAR)):
        expect(page.locator("[data-asked]")).to_contain_text(asked)
        tap(page, place)
    expect(page.locator("[data-asked]")).to_contain_text("Cream")
    press(page, "Measure")

    expect(main(page)).to_contain_text("1 colour is in the record")
    assert len(far_off()) == 1
    assert max(far_off()) < CLOSE


def test_marks_follow_figures_and_arrow_keys(browsers: Browsers, shop: Bench, note: CureNote) -> None:
    page = browsers.desktop(shop.maker)
    open_note(page, note)
    left = page.get_by_role("textbox", name="The card, from the left in %")
    left.fill("15")
    page.get_by_role("textbox", name="The card, from the top in %").fill("50 %")
    mark = page.locator("[data-mark=card]")
    expect(mark).to_have_attribute("transform", "translate(43.2 108)")

    page.get_by_role("radio", name="The card").check()
    photo = page.locator("[data-photo] input")
    photo.focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowUp"):
        photo.press(key)
    expect(left).to_have_value("16")
    expect(page.get_by_role("textbox", name="The card, from the top in %")).to_have_value("49.5")
    left.fill("")
    expect(mark).to_be_hidden()


def test_enter_in_a_figure_measures(browsers: Browsers, shop: Bench, note: CureNote) -> None:
    page = browsers.desktop(shop.maker)
    open_note(page, note)
    for what, figures in {"The card": ("15", "50"), "Cream": ("85", "50")}.items():
        for side, figure in zip(("left", "top"), figures, strict=True):
            page.get_by_role("textbox", name=f"{what}, from the {side} in %").fill(figure)
    page.get_by_role("textbox", name="Cream, from the top in %").press("Enter")

    expect(main(page)).to_contain_text("1 colour is in the record")
    assert max(far_off()) < CLOSE
