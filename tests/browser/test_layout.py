"""Sizes that a wet thumb and a narrow phone need, and how little a first visit sends."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect

from tests.architecture.pages import Cast, make_cast
from tests.browser import chromium
from tests.browser.conftest import Browsers
from tests.browser.demo import served_demo, sign_in
from tests.browser.scenes import every_scene, of_an_empty_workshop
from tests.browser.steps import heading
from tests.factories import OwnerFactory, WorkshopFactory

pytestmark = pytest.mark.browser

AT_THE_BENCH = {"batches:weigh", "batches:lye", "batches:add_to_pot", "batches:confirm", "batches:events"}
BENCH_TARGET, TARGET = 56, 48  # pixels
NUMERAL = 72  # pixels
LOWER_PART = 0.6  # of the height of the screen: below this the thumb is at home
FIRST_VISIT = 150_000  # bytes

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


@pytest.mark.parametrize("width", [360, 320])
def test_no_page_is_wider_than_the_phone(cast, browsers, width):
    page = phone_of_width(browsers, cast.owner, width)
    nobody = phone_of_width(browsers, None, width)
    wide = {}
    for scene in every_scene(cast):
        seen = page if scene.user else nobody
        seen.goto(scene.address)
        if found := seen.evaluate(TOO_WIDE):
            wide[scene.name] = found

    assert wide == {}


@pytest.mark.parametrize("width", [360, 320])
def test_no_empty_page_is_wider_than_the_phone(browsers, transactional_db, width):
    owner = OwnerFactory()
    page = phone_of_width(browsers, owner, width)
    wide = {}
    for scene in of_an_empty_workshop(owner):
        page.goto(scene.address)
        if found := page.evaluate(TOO_WIDE):
            wide[scene.name] = found

    assert wide == {}


def phone_of_width(browsers: Browsers, user: Any, width: int) -> Page:
    return browsers.phone(user, viewport={"width": width, "height": 740})


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


@pytest.mark.parametrize("name", ["batches:weigh", "batches:weigh midway", "batches:lye", "batches:confirm"])
def test_the_main_action_lies_under_the_thumb(cast, browsers, name):
    page = browsers.phone(cast.maker)
    page.goto(next(scene.address for scene in every_scene(cast) if scene.name == name))
    action = page.locator(".bench-foot .button, .action-bar .button").last
    expect(action).to_be_in_viewport(ratio=1)

    box = action.bounding_box()

    assert box
    assert box["y"] >= LOWER_PART * 740
    assert box["height"] >= BENCH_TARGET


@pytest.mark.parametrize("width", [360, 320])
@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_weight_can_be_read_at_arms_length(cast, browsers, units, width):
    WorkshopFactory(units=units)
    cast.planned.lines.filter(position=0).update(planned=Decimal("4321"))
    page = phone_of_width(browsers, cast.maker, width)
    page.goto(reverse("batches:weigh", args=[cast.planned.pk]))
    numeral = page.locator(".big-weight")
    expect(numeral).to_be_in_viewport(ratio=1)

    assert numeral.evaluate("one => parseFloat(getComputedStyle(one).fontSize)") >= NUMERAL
    assert numeral.evaluate("one => getComputedStyle(one).fontVariantNumeric") == "tabular-nums"


def test_a_first_visit_sends_little(running_chromium: Browser, tmp_path: Path) -> None:
    """Signing in and all of Today, with every file, from the server that makers run."""
    with served_demo(tmp_path) as address:
        context = running_chromium.new_context(**chromium.PHONE)
        page = context.new_page()
        network = context.new_cdp_session(page)
        network.send("Network.enable")
        sent: list[float] = []
        network.on("Network.loadingFinished", lambda event: sent.append(event["encodedDataLength"]))
        sign_in(page, address)
        page.wait_for_load_state("networkidle")
        context.close()

    assert len(sent) > 8
    assert sum(sent) < FIRST_VISIT
