"""axe on every page, and the keyboard alone on those where most is done."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from django.urls import reverse
from playwright.sync_api import Page, expect

from soapshop.core.models import User
from tests.architecture.pages import PAGES, Cast, make_cast
from tests.batches.bench import bench
from tests.browser import chromium
from tests.browser.conftest import Browsers
from tests.browser.scenes import Scene, every_scene, names_shown, of_an_empty_workshop
from tests.browser.steps import heading, main
from tests.factories import OwnerFactory

pytestmark = pytest.mark.browser

REFUSED_WHEN_EMPTY = [
    *("recipes:add", "inventory:receive", "inventory:supplier_add", "inventory:correct", "inventory:discard"),
    *("core:person_add", "core:account", "batches:note", "batches:weigh_in", "batches:drop", "batches:undo"),
]
LOOKS = {"phone, light": (chromium.PHONE, "light"), "desktop, dark": (chromium.DESKTOP, "dark")}
AXE = """async () => {
  const { violations } = await axe.run({ resultTypes: ["violations"] });
  return violations.flatMap(({ id, nodes }) =>
    nodes.map((one) => `${id}: ${one.target} ${one.html.slice(0, 160)}`));
}"""


@pytest.fixture
def cast(transactional_db: None) -> Cast:
    return make_cast()


@pytest.fixture
def open_for(browsers: Browsers) -> Callable[[User | None], Page]:
    """A page for someone, one for each person."""
    pages: dict[int | None, Page] = {}

    def opened(user: User | None) -> Page:
        key = user.pk if user else None
        if key not in pages:
            pages[key] = browsers.phone(user)
        return pages[key]

    return opened


def violations(page: Page) -> list[str]:
    """What axe finds, with the element it found it at."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found: list[str] = page.evaluate(AXE)
    return found


def violations_in_each_look(page: Page) -> list[str]:
    """What axe finds on a page as a light phone shows it, and as a wide and dark window does."""
    found = []
    for look, (device, colours) in LOOKS.items():
        page.set_viewport_size(device["viewport"])
        page.emulate_media(color_scheme=colours)  # type: ignore[arg-type]
        page.wait_for_function("document.getAnimations().length === 0")
        found += [f"{look}: {one}" for one in violations(page)]
    return found


def all_violations(scenes: Iterable[Scene], open_for: Callable[[User | None], Page]) -> dict[str, list[str]]:
    wrong = {}
    for scene in scenes:
        page = open_for(scene.user)
        page.goto(scene.address)
        if found := violations_in_each_look(page):
            wrong[scene.name] = found
    return wrong


def test_no_page_is_forgotten(cast):
    pages = {name for name, page in PAGES.items() if page.html and page.get != 405}

    # Signing out shows nothing; setting up is what the first day shows.
    assert pages - names_shown(every_scene(cast)) == {"core:sign_out", "core:setup"}


def test_axe_finds_nothing_on_any_page(cast, open_for):
    assert all_violations(every_scene(cast), open_for) == {}


def test_axe_finds_nothing_on_the_first_day(transactional_db, open_for):
    page = open_for(None)
    page.goto(reverse("core:setup"))
    expect(heading(page)).to_be_visible()
    assert violations_in_each_look(page) == []

    assert all_violations(of_an_empty_workshop(OwnerFactory()), open_for) == {}


def test_axe_finds_nothing_on_a_form_that_was_refused(cast, open_for):
    page = open_for(cast.owner)
    wrong = {}
    for name in REFUSED_WHEN_EMPTY:
        page.goto(PAGES[name].address(name, cast))
        send_empty(page)
        expect(page.locator("main [aria-invalid=true]").first).to_be_visible()
        wrong[name] = violations_in_each_look(page)

    assert {name: found for name, found in wrong.items() if found} == {}


def send_empty(page: Page) -> None:
    """Empty every field of the form and send it."""
    for field in page.locator("main form[method=post] input[type=text]:visible").all():
        field.fill("")
    form = page.locator("main form[method=post]").first
    form.evaluate("form => { form.noValidate = true; form.requestSubmit(); }")


def test_axe_finds_nothing_on_pages_that_say_no(cast, browsers, open_for):
    owner, viewer = open_for(cast.owner), open_for(cast.viewer)
    for watch in browsers.watches:
        watch.expected |= {403, 404}
    owner.goto("/nowhere/")
    viewer.goto(reverse("recipes:add"))

    assert violations_in_each_look(owner) == []
    assert violations_in_each_look(viewer) == []


# Two words that are pale on pale: one where colours are dark, one where the window is wide.
UNREADABLE = """() => {
  const rules = new CSSStyleSheet();
  rules.replaceSync(`
    #pale, #wide { color: #000; background: #fff; }
    @media (prefers-color-scheme: dark) { #pale { color: #eee; } }
    @media (min-width: 1000px) { #wide { color: #eee; } }`);
  document.adoptedStyleSheets.push(rules);
  document.querySelector("main").insertAdjacentHTML("beforeend", "<p id=pale>Pale</p><p id=wide>Wide</p>");
}"""


def test_axe_would_find_what_is_wrong(cast, browsers):
    page = browsers.phone(cast.owner)
    page.goto(reverse("batches:rack"))
    page.evaluate("document.querySelector('main').append(document.createElement('img'))")

    found = [one for one in violations_in_each_look(page) if "image-alt" in one]
    assert [one.split(":")[0] for one in found] == list(LOOKS)


def test_axe_would_find_what_cannot_be_read_in_the_dark_or_in_a_wide_window_only(cast, browsers):
    page = browsers.phone(cast.owner)
    page.goto(reverse("batches:rack"))
    page.evaluate(UNREADABLE)

    found = [one for one in violations_in_each_look(page) if "color-contrast" in one]
    assert [one.split(": #")[0] for one in found] == ["desktop, dark: color-contrast"] * 2


# --- the keyboard -------------------------------------------------------------------------------------------

# Numbers all that a keyboard must reach: what can be pressed or filled in, of radio buttons one a group.
NUMBER_THEM = """() => {
  const names = [], groups = {};
  for (const one of document.querySelectorAll("a[href], button, input, select, textarea, summary")) {
    if (one.disabled || one.type === "hidden" || one.tabIndex < 0 || !one.checkVisibility()) continue;
    const group = one.type === "radio" ? one.name : `${names.length}`;
    const name = `${one.tagName} ${one.textContent.trim() || one.name}`;
    if (!(group in groups)) groups[group] = names.push(name) - 1;
    one.dataset.number = groups[group];
  }
  return names;
}"""

# The number of what has the focus, and whether one sees that: it is outlined, and nothing covers all of it.
FOCUSED = """() => {
  const one = document.activeElement, style = getComputedStyle(one), box = one.getBoundingClientRect();
  const shown = (x, y) => one.contains(document.elementFromPoint(x, y)?.closest("[data-number]"));
  const middle = (box.left + box.right) / 2;
  const open = [box.top + 3, (box.top + box.bottom) / 2, box.bottom - 3].some((y) => shown(middle, y));
  const outlined = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  return [Number(one.dataset.number ?? -1), outlined && open];
}"""


@pytest.mark.parametrize("size", ["phone", "desktop"])
@pytest.mark.parametrize("name", ["batches:weigh midway", "batches:confirm", "batches:plan", "recipes:edit"])
def test_the_keyboard_reaches_everything_and_shows_where_it_is(cast, browsers, name, size):
    scene = next(scene for scene in every_scene(cast) if scene.name == name)
    page = getattr(browsers, size)(cast.maker)
    page.goto(scene.address)
    expect(heading(page)).to_be_visible()
    names = page.evaluate(NUMBER_THEM)
    seen: dict[int, bool] = {}
    for _ in range(2 * len(names) + 10):
        page.keyboard.press("Tab")
        number, visible = page.evaluate(FOCUSED)
        seen[number] = visible
        if seen.keys() >= set(range(len(names))):
            break

    assert len(names) > 5
    assert [names[number] for number in range(len(names)) if number not in seen] == []
    assert [names[number] for number, visible in seen.items() if number >= 0 and not visible] == []


def test_the_first_tab_leads_past_the_navigation(cast, browsers):
    page = browsers.desktop(cast.maker)
    page.goto(reverse("batches:rack"))
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="Skip to the page")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport(ratio=1)

    page.keyboard.press("Enter")

    expect(main(page)).to_be_focused()


def test_a_whole_line_is_weighed_by_keyboard(browsers, transactional_db):
    shop = bench()
    page = browsers.desktop(shop.maker)
    page.goto(reverse("batches:weigh", args=[shop.plan().pk]))
    expect(heading(page)).to_have_text("Olive oil")
    expect(heading(page)).to_be_focused()

    tab_to(page, "As shown")
    page.keyboard.press("Enter")
    expect(heading(page)).to_have_text("Coconut oil")
    tab_to(page, "Other weight")
    page.keyboard.press("Enter")
    tab_to(page, "The scale shows")
    page.keyboard.type("251")
    page.keyboard.press("Enter")

    expect(heading(page)).to_have_text("Palm oil")
    expect(page.get_by_role("button", name="Undo Coconut oil, 251 g")).to_be_visible()


def tab_to(page: Page, name: str) -> None:
    """Go on with the Tab key until that has the focus."""
    wanted = (
        page.get_by_label(name)
        .or_(page.get_by_role("button", name=name))
        .or_(page.get_by_role("link", name=name))
    )
    expect(wanted).to_be_visible()
    for _ in range(40):
        page.keyboard.press("Tab")
        if wanted.evaluate("one => one === document.activeElement"):
            return
    pytest.fail(f"The Tab key does not lead to {name}.")
