"""Sizes that a wet thumb and a narrow phone need."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from soapshop.core.models import User
from tests.architecture.pages import Cast, make_cast
from tests.browser.conftest import Browsers
from tests.browser.scenes import Scene, every_scene, of_an_empty_workshop
from tests.browser.steps import heading
from tests.factories import OwnerFactory, WorkshopFactory

pytestmark = pytest.mark.browser

AT_THE_BENCH = {"batches:weigh", "batches:lye", "batches:add_to_pot", "batches:confirm", "batches:events"}
BENCH_TARGET, TARGET = 56, 48  # pixels
NUMERAL = 72  # pixels
LOWER_PART = 0.6  # of the height of the screen: below this the thumb is at home
WIDTHS, HEIGHT = (360, 320), 740  # pixels

# Elements that stand out of a page that can be scrolled sideways, the innermost first.
TOO_WIDE = """() => {
  const page = document.documentElement;
  if (page.scrollWidth <= page.clientWidth) return [];
  const standsOut = (one) => one.getBoundingClientRect().right > page.clientWidth + 1;
  const wide = [...document.querySelectorAll("body *")].filter(standsOut).reverse().slice(0, 4);
  return [`${page.scrollWidth} px`, ...wide.map((one) => one.outerHTML.slice(0, 120))];
}"""

# What is too low to be hit with gloves on. A box to tick is hit by its label too, a name in a row by the row.
TOO_LOW = """(least) => {
  const low = [], targets = "main :is(a[href], button, input, select, textarea, summary)";
  for (const one of document.querySelectorAll(targets)) {
    if (one.type === "hidden" || !one.checkVisibility()) continue;
    const target = ["checkbox", "radio"].includes(one.type) ? one.closest("label")
      : one.matches(".row-name") ? one.closest(".row") : one;
    const height = Math.round(target.getBoundingClientRect().height * 10) / 10;
    if (height < least) low.push(`${one.outerHTML.slice(0, 90)} ${height}`);
  }
  return low;
}"""


@pytest.fixture
def cast(transactional_db: None) -> Cast:
    return make_cast()


def test_no_page_is_wider_than_the_phone(cast, browsers):
    assert too_wide(every_scene(cast), browsers, cast.owner) == {}


def test_no_empty_page_is_wider_than_the_phone(browsers, transactional_db):
    owner = OwnerFactory()

    assert too_wide(of_an_empty_workshop(owner), browsers, owner) == {}


def too_wide(scenes: list[Scene], browsers: Browsers, owner: User) -> dict[str, list[str]]:
    """What stands out of each page on a usual and on a narrow phone."""
    page, nobody = browsers.phone(owner), browsers.phone(None)
    wide = {}
    for scene in scenes:
        seen = page if scene.user else nobody
        seen.goto(scene.address)
        for width in WIDTHS:
            seen.set_viewport_size({"width": width, "height": HEIGHT})
            if found := seen.evaluate(TOO_WIDE):
                wide[f"{scene.name} at {width}"] = found
    return wide


def test_what_stands_out_of_a_narrow_phone_only_would_be_found(browsers, transactional_db):
    page = browsers.phone(OwnerFactory())
    page.goto(reverse("batches:rack"))
    page.evaluate("document.querySelector('main').append(document.createElement('hr'))")
    page.locator("hr").evaluate("one => { one.style.width = '325px'; one.style.margin = '0'; }")

    found = {}
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": HEIGHT})
        found[width] = page.evaluate(TOO_WIDE)

    assert found[360] == []
    assert found[320] != []


def test_everything_at_the_bench_is_large_enough_for_wet_gloves(cast, browsers):
    page = browsers.phone(cast.maker)
    bench = [scene for scene in every_scene(cast) if scene.name.split(" ")[0] in AT_THE_BENCH]
    low = {}
    for scene in bench:
        page.goto(scene.address)
        expect(heading(page)).to_be_visible()
        if found := page.evaluate(TOO_LOW, BENCH_TARGET):
            low[scene.name] = found

    assert len(bench) >= 10
    assert low == {}


def test_the_bar_at_the_foot_of_the_phone_is_large_enough(cast, browsers):
    page = browsers.phone(cast.maker)
    page.goto(reverse("batches:rack"))

    places = page.get_by_role("navigation", name="Main").get_by_role("link").all()
    boxes = [place.bounding_box() for place in places if place.is_visible()]

    assert len(boxes) == 5
    assert all(box and box["height"] >= TARGET and box["width"] >= TARGET for box in boxes)
    assert all(box and box["y"] + box["height"] <= 740 for box in boxes)


def test_the_main_action_lies_under_the_thumb(cast, browsers):
    names = {"batches:weigh", "batches:weigh midway", "batches:lye", "batches:confirm"}
    page = browsers.phone(cast.maker)
    boxes: dict[str, Any] = {}
    for scene in every_scene(cast):
        if scene.name in names:
            page.goto(scene.address)
            action = page.locator(".bench-foot .button, .action-bar .button").last
            expect(action).to_be_in_viewport(ratio=1)
            boxes[scene.name] = action.bounding_box()

    assert boxes.keys() == names
    assert {name: box for name, box in boxes.items() if not box or box["y"] < LOWER_PART * HEIGHT} == {}
    assert {name: box for name, box in boxes.items() if box["height"] < BENCH_TARGET} == {}


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_weight_can_be_read_at_arms_length(cast, browsers, units):
    WorkshopFactory(units=units)
    cast.planned.lines.filter(position=0).update(planned=Decimal("4321"))
    page = browsers.phone(cast.maker)
    page.goto(reverse("batches:weigh", args=[cast.planned.pk]))
    numeral = page.locator(".big-weight")
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": HEIGHT})
        expect(numeral).to_be_in_viewport(ratio=1)

        assert numeral.evaluate("one => parseFloat(getComputedStyle(one).fontSize)") >= NUMERAL
        assert numeral.evaluate("one => getComputedStyle(one).fontVariantNumeric") == "tabular-nums"
