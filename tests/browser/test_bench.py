"""The bench by thumb: what wet gloves hit, what two phones see of each other, times that run."""

from __future__ import annotations

import time
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from batches.models import Batch, Event, Weighing
from batches.services.events import log_event
from batches.services.weighing import mix_lye
from batches.services.weighing import weigh as note_weight
from tests.batches.bench import Bench, bench
from tests.batches.pages import line_of
from tests.browser.conftest import Browsers
from tests.browser.scenes import on, weigh_lines
from tests.browser.steps import follow, heading, main, photo, press
from tests.factories import UserFactory, WorkshopFactory

pytestmark = pytest.mark.browser

TARGET, BAR = 56, 48  # pixels
HEIGHT = 740
LOWER_PART = 0.6  # of the height of the screen: below this the thumb is at home
SOON = 2_000  # milliseconds in which one phone sees what another did

# Whatever can be tapped, as low as it is. A box to tick is hit by its label too, a name in a row by the row.
TOO_SMALL = """(least) => {
  const small = [];
  const targets = "main :is(a[href], button, input, select, textarea, summary, [tabindex='0'])";
  for (const one of document.querySelectorAll("details")) one.open = true;
  for (const one of document.querySelectorAll(targets)) {
    if (one.type === "hidden" || !one.checkVisibility()) continue;
    const target = ["checkbox", "radio"].includes(one.type) ? one.closest("label")
      : one.matches(".row-name") ? one.closest(".row") : one;
    const { width, height } = target.getBoundingClientRect();
    const found = `${one.outerHTML.slice(0, 90)} ${width} x ${height}`;
    if (Math.min(width, height) < least - 0.1) small.push(found);
  }
  return small;
}"""

IN_A_POCKET = """
  Object.defineProperty(document, "visibilityState", { get: () => window.seen ?? "hidden" });
"""
PLACE = "one => one.getBoundingClientRect().top + scrollY"


@pytest.fixture
def shop(transactional_db: None) -> Bench:
    return bench()


@pytest.fixture
def batch(shop: Bench) -> Batch:
    return shop.plan()


def log(batch: Batch, kind: Event.Kind, by, minutes_ago: int = 0, **fields) -> Event:
    at = timezone.now() - timedelta(minutes=minutes_ago)
    return log_event(batch=batch, kind=kind, key=uuid4(), by=by, at=at, **fields)


def busy_bench(shop: Bench) -> dict[str, str]:
    """The pages of the bench with all that may stand on them."""
    for name in ("Olive oil", "Coconut oil"):
        shop.lot(name)
    begun, at_lye, lye_in, stopped, scarce = (shop.plan() for _ in range(5))
    weigh_lines(begun, 1, shop.maker)
    weigh_lines(at_lye, 6, shop.maker)
    weigh_lines(lye_in, 6, shop.maker)
    weigh_lines(stopped, 6, shop.maker, lye=Decimal(175))
    weigh_lines(scarce, 6, UserFactory())
    for batch in (lye_in, scarce):
        mix_lye(batch=batch, by=shop.maker)
        log(batch, Event.Kind.LYE_TEMPERATURE, shop.maker, celsius=Decimal(43))
        log(batch, Event.Kind.LIGHT_TRACE, shop.maker)
    weighed = begun.lines.get(position=0)
    return {
        "weigh": on(begun, "weigh"),
        "weigh, the card": on(begun, "weigh", "?show=card#card"),
        "another weight": on(begun, "weigh", "?show=other"),
        "which lot": on(begun, "weigh", "?show=lots"),
        "how to weigh": on(begun, "weigh", "?show=scale"),
        "weighed": on(begun, "weigh", f"?line={weighed.pk}"),
        "lye": on(at_lye, "lye"),
        "lye, not safe": on(stopped, "lye"),
        "lye mixed": on(lye_in, "lye"),
        "after the lye": on(lye_in, "weigh"),
        "others weighed": on(scarce, "weigh"),
        "add": on(stopped, "add_to_pot"),
        "events": on(lye_in, "events"),
        "events, nothing yet": on(begun, "events"),
        "confirm": on(lye_in, "confirm", "?as_planned=on"),
        "confirm, not safe": on(stopped, "confirm", "?as_planned=on"),
    }


def test_whatever_can_be_tapped_is_large_enough_for_wet_gloves(browsers: Browsers, shop: Bench) -> None:
    pages = busy_bench(shop)
    page = browsers.phone(shop.maker)
    small = {}
    for name, address in pages.items():
        page.goto(address)
        expect(heading(page)).to_be_attached()
        if found := page.evaluate(TOO_SMALL, TARGET):
            small[name] = found

    assert small == {}


def test_errors_too_are_large_enough(browsers: Browsers, shop: Bench, batch: Batch) -> None:
    page = browsers.phone(shop.maker)
    page.goto(on(batch, "add_to_pot"))
    press(page, "Add it")
    expect(page.get_by_role("alert")).to_contain_text("Please look at")

    assert page.evaluate(TOO_SMALL, TARGET) == []


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_main_action_lies_under_the_thumb_on_every_page(
    browsers: Browsers, shop: Bench, units: str
) -> None:
    WorkshopFactory(units=units)
    pages = busy_bench(shop)
    page = browsers.phone(shop.maker)
    high = {}
    for name, address in pages.items():
        if name == "which lot":
            continue  # its action is to choose one of a list
        page.goto(address)
        page.evaluate("scrollTo(0, 0)")
        box = page.locator(
            ".bench-actions .button, .way-back .button, .action-bar .button"
        ).last.bounding_box()
        assert box
        if not LOWER_PART * HEIGHT <= box["y"] <= HEIGHT - box["height"]:
            high[name] = box

    assert high == {}


def test_words_to_tap_lie_within_the_first_screen(browsers: Browsers, shop: Bench) -> None:
    page = browsers.phone(shop.maker)
    page.goto(busy_bench(shop)["events"])

    foot = page.locator(".bench-foot").bounding_box()
    words = [button.bounding_box() for button in page.locator("#words button").all()]

    assert foot
    assert len(words) == 10
    assert all(box and box["y"] + box["height"] <= foot["y"] for box in words)


# --- two phones -----------------------------------------------------------------------------------


def test_two_phones_see_each_others_lines_within_two_seconds(
    browsers: Browsers, shop: Bench, batch: Batch
) -> None:
    jonas = UserFactory(name="Jonas")
    mine, other = browsers.phone(shop.maker), browsers.phone(jonas)
    mine.goto(on(batch, "weigh"))
    other.goto(on(batch, "weigh"))
    other.get_by_role("link", name="another first").tap()
    main(other).get_by_role("link", name="Palm oil", exact=True).tap()
    expect(heading(other)).to_have_text("Palm oil")

    took = [seen_after(mine, other, "Palm oil, 250")]
    expect(mine.locator("#bench-safety")).to_contain_text("superfat likely")
    expect(mine.locator("#card-count")).to_have_text("1 of 7")
    expect(heading(mine)).to_have_text("Olive oil")

    took.append(seen_after(mine, other, "Olive oil, 450"))
    mine.get_by_role("link", name="Go on", exact=True).tap()
    expect(heading(mine)).to_have_text("Coconut oil")
    press(mine, "As shown")
    expect(other.locator("#bench-others")).to_contain_text("weighed Coconut oil, 250")
    expect(heading(other)).to_have_text("Coconut oil")
    other.get_by_role("link", name="Go on", exact=True).tap()
    took.append(seen_after(mine, other, "Castor oil, 50"))
    assert Weighing.objects.count() == 4
    assert min(took) < SOON  # the machine of a test may be busy once, not each time


def seen_after(mine: Page, other: Page, what: str) -> float:
    """Milliseconds from what Jonas weighs until I see it."""
    with other.expect_navigation():
        press(other, "As shown")
    began = time.monotonic()
    expect(mine.locator("#bench-others")).to_contain_text(f"Jonas weighed {what}")
    return 1000 * (time.monotonic() - began)


def test_nothing_is_taken_from_under_the_fingers_of_who_types(
    browsers: Browsers, shop: Bench, batch: Batch
) -> None:
    page = browsers.phone(shop.maker)
    page.goto(on(batch, "weigh", "?show=other"))
    field = page.get_by_label("The scale shows")
    field.fill("44")
    field.focus()
    line = line_of(batch, "Olive oil")
    jonas = UserFactory(name="Jonas")
    note_weight(line=line, lot=shop.lots["Olive oil"], quantity=Decimal(447), key=uuid4(), by=jonas)
    expect(page.locator("#bench-others")).to_contain_text("Jonas weighed Olive oil, 447")

    page.keyboard.type("8")

    expect(field).to_have_value("448")
    expect(field).to_be_focused()


def test_the_open_card_stays_open_and_keeps_its_place_and_focus(
    browsers: Browsers, shop: Bench, batch: Batch
) -> None:
    page = browsers.phone(shop.maker)
    page.goto(on(batch, "weigh", "?show=card"))
    castor = main(page).get_by_role("link", name="Castor oil", exact=True)
    castor.focus()
    place = page.evaluate("scrollY")
    fields = {"quantity": Decimal(250), "key": uuid4(), "by": UserFactory(name="Jonas")}
    note_weight(line=line_of(batch, "Palm oil"), lot=shop.lots["Palm oil"], **fields)

    expect(page.locator("#card-lines")).to_contain_text("Jonas")

    expect(castor).to_be_focused()
    expect(page.locator("#card")).to_have_attribute("open", "")
    assert page.evaluate("scrollY") == place


def test_a_phone_that_is_not_looked_at_asks_nothing(browsers: Browsers, shop: Bench, batch: Batch) -> None:
    page = browsers.phone(shop.maker)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/bench/" in request.url else None)
    page.add_init_script(IN_A_POCKET)
    page.goto(on(batch, "weigh"))
    page.wait_for_timeout(SOON + 700)
    assert asked == []

    with page.expect_request(lambda request: "/bench/" in request.url):
        page.evaluate(
            "() => { window.seen = 'visible'; document.dispatchEvent(new Event('visibilitychange')); }"
        )


# --- events and times -----------------------------------------------------------------------------


def test_words_temperatures_and_a_note_with_a_photo_without_leaving_the_page(
    browsers: Browsers, shop: Bench, batch: Batch, tmp_path
) -> None:
    page = browsers.phone(shop.maker)
    page.goto(on(batch, "weigh"))
    main(page).get_by_role("link", name="Log what happens").tap()
    expect(heading(page)).to_have_text("What happens")
    page.evaluate("window.stayed = true")
    page.get_by_label("Note").fill("Smells of")
    before = page.locator("#words").evaluate(PLACE)

    press(page, "Light trace")
    expect(page.locator("#last-logged")).to_contain_text("Light trace")
    expect(page.locator("#bench-time")).to_contain_text("0 min since light trace")
    assert page.locator("#words").evaluate(PLACE) == before
    press(page, "Light trace")
    expect(page.locator("#logged li")).to_have_count(2)
    page.get_by_label("The thermometer shows").fill("430")
    press(page, "Lye")
    expect(page.locator("#degrees")).to_contain_text("This cannot be right")
    page.get_by_label("The thermometer shows").fill("109.4 F")
    press(page, "Lye")
    expect(page.locator("#bench-time")).to_contain_text("lye 43 °C")
    expect(page.get_by_label("The thermometer shows")).to_have_value("")
    page.get_by_label("Note").fill(page.get_by_label("Note").input_value() + " lemon")
    page.get_by_label("Photo").set_input_files(photo(tmp_path))
    press(page, "Keep the note")
    expect(page.locator("#logged")).to_contain_text("Smells of lemon")
    expect(page.locator("#logged img")).to_be_visible()
    expect(page.get_by_label("Note")).to_have_value("")

    assert page.evaluate("window.stayed")
    assert [event.kind for event in Event.objects.all()] == [
        "light_trace",
        "light_trace",
        "lye_temperature",
        "note",
    ]


def test_events_need_no_javascript(browsers: Browsers, shop: Bench, batch: Batch, tmp_path) -> None:
    page = browsers.phone(shop.maker, java_script_enabled=False)
    page.goto(on(batch, "events"))
    press(page, "Seizing")
    expect(page.locator("#last-logged")).to_contain_text("Seizing")
    page.get_by_label("The thermometer shows").fill("41")
    press(page, "Fats")
    page.get_by_label("Note").fill("Quick!")
    page.get_by_label("Photo").set_input_files(photo(tmp_path))
    press(page, "Keep the note")
    expect(page.locator("#logged")).to_contain_text("Quick!")
    press(page, "Undo")
    expect(page.locator("#logged")).not_to_contain_text("Quick!")
    press(page, "Undo")
    follow(page, "Back to the bench")

    expect(heading(page)).to_have_text("Olive oil")
    assert [event.kind for event in Event.objects.all()] == ["seizing"]


def test_the_times_run_on_and_are_written_as_the_server_writes_them(
    browsers: Browsers, shop: Bench, batch: Batch
) -> None:
    mix_lye(batch=batch, by=shop.maker, at=timezone.now() - timedelta(minutes=58))
    log(batch, Event.Kind.EMULSION, shop.maker, minutes_ago=9)
    page = browsers.phone(shop.maker)
    page.clock.install(time=timezone.now() + timedelta(hours=5))  # whose clock is wrong
    page.goto(on(batch, "weigh"))
    times = page.locator("#bench-time .timer")
    expect(times).to_have_text(["58\xa0min", "9\xa0min"])
    width = page.locator("#bench-time").bounding_box()

    page.clock.run_for(4 * 60_000)

    expect(times).to_have_text(["1\xa0h 02\xa0min", "13\xa0min"])
    assert page.locator("#bench-time").bounding_box() == width
    assert page.locator("[aria-live] .timer, [role=status] .timer").count() == 0


def test_one_on_top_of_the_other_by_thumb_without_javascript(
    browsers: Browsers, shop: Bench, batch: Batch
) -> None:
    page = browsers.phone(shop.maker, java_script_enabled=False)
    page.goto(on(batch, "weigh"))
    follow(page, "don’t zero")
    page.get_by_role("radio", name="Not zeroed").check()
    page.get_by_label("The scale shows now").fill("812")
    press(page, "Weigh like this")
    expect(page.locator(".big-weight")).to_have_text("1\u202f262 g")
    press(page, "As shown")
    expect(page.locator(".big-weight")).to_have_text("1\u202f512 g")
    follow(page, "Other weight")
    page.get_by_label("The scale shows in all").fill("1262")
    press(page, "Weighed")
    expect(main(page)).to_contain_text("now it must show more")
    page.get_by_label("The scale shows in all").fill("1510")
    press(page, "Weighed")

    expect(heading(page)).to_have_text("Palm oil")
    assert [weighing.quantity for weighing in Weighing.objects.all()] == [450, 248]


# --- the screen stays on --------------------------------------------------------------------------

COUNT_LOCKS = """
  window.locks = 0;
  const wakeLock = { request: async () => { window.locks += 1; return {}; } };
  Object.defineProperty(navigator, "wakeLock", { get: () => wakeLock });
"""


def test_the_screen_is_kept_on_again_when_the_page_comes_back(
    browsers: Browsers, shop: Bench, batch: Batch
) -> None:
    page = browsers.phone(shop.maker)
    page.add_init_script(COUNT_LOCKS)
    for name in ("weigh", "events", "add_to_pot"):
        page.goto(on(batch, name))
        page.wait_for_function("window.locks === 1")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")

    page.wait_for_function("window.locks === 2")


def test_a_phone_that_cannot_keep_its_screen_on_works_and_says_nothing(
    browsers: Browsers, shop: Bench, batch: Batch
) -> None:
    page = browsers.phone(shop.maker)
    page.add_init_script("Object.defineProperty(navigator, 'wakeLock', { get: () => undefined });")
    page.goto(on(batch, "weigh"))

    expect(page.get_by_role("button", name="As shown")).to_be_visible()


def test_the_bar_of_the_last_look_is_large_enough(browsers: Browsers, shop: Bench, batch: Batch) -> None:
    page = browsers.phone(shop.maker)
    page.goto(on(batch, "confirm", "?as_planned=on"))
    places = page.get_by_role("navigation", name="Main").get_by_role("link").all()
    boxes = [place.bounding_box() for place in places if place.is_visible()]

    assert len(boxes) == 5
    assert all(box and min(box["width"], box["height"]) >= BAR for box in boxes)
