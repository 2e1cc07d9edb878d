"""Takes the pictures for the README: `python -m tests.browser.pictures`.

They show the demo workshop, served by `manage.py demo` from a folder of its own, with a batch on the bench
that is weighed as far as the picture needs.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.browser import chromium
from tests.browser.demo import served_demo, sign_in

FOLDER = Path(__file__).with_name("pictures")
SIZES = {"phone": {**chromium.PHONE, "device_scale_factor": 1}, "desktop": chromium.DESKTOP}
THEMES = ("light", "dark")
COLOURS = 128  # enough for flat colours, and a third of the bytes


def today(page: Page) -> None:
    page.goto("/")


def recipe(page: Page) -> None:
    page.goto("/recipes/")
    page.get_by_role("link", name="Heron Slate").click()


def recipes(page: Page) -> None:
    page.goto("/recipes/")


def look(page: Page) -> None:
    """How the batter of a hanger swirl is split."""
    recipes(page)
    page.get_by_role("link", name="Lantern Row").click()
    page.get_by_role("link", name="Split and colour").click()


def strip(page: Page) -> None:
    """Where its embeds go, so that each bar gets three."""
    recipes(page)
    page.get_by_role("link", name="Lantern Row").click()
    page.get_by_role("link", name="Placing strip").click()


def mould(page: Page) -> None:
    page.goto("/recipes/moulds/")
    page.get_by_role("link", name="Beech loaf").click()


def certificate(page: Page) -> None:
    page.goto("/stock/")
    page.get_by_role("link", name="Hedgerow Honey").click()
    show(page, "Certificate")


def colour(page: Page) -> None:
    """How the scented layer of a batch has browned, and the white one has not."""
    page.goto("/stock/")
    page.get_by_role("link", name="Hedgerow Honey").click()
    page.get_by_role("link", name="All of its batches").click()
    page.get_by_role("link", name="Three Sills").last.click()
    show(page, "How the colour turned")


def rack(page: Page) -> None:
    page.goto("/rack/")


def shelf(page: Page) -> None:
    page.goto("/shelf/")


def stock(page: Page) -> None:
    page.goto("/stock/")


def bench(page: Page, recipe: str = "Wren Oatmeal") -> None:
    """The batch of it that is planned."""
    page.goto("/pour/")
    page.locator('main a[href$="/weigh/"]').filter(has_text=recipe).click()
    page.locator("body.bench").wait_for()


def weigh(page: Page) -> None:
    """The batch that is planned for tomorrow, two fats weighed."""
    bench(page)
    while "1 of" in page.locator("main").inner_text() or "2 of" in page.locator("main").inner_text():
        as_shown(page)


def lye(page: Page) -> None:
    """The same batch, everything weighed that the lye is made of."""
    bench(page)
    while page.get_by_role("button", name="As shown").count():
        as_shown(page)


def events(page: Page) -> None:
    """What can be logged with one tap, once the lye is mixed."""
    bench(page)
    if page.get_by_role("button", name="The lye is mixed").count():
        page.get_by_role("button", name="The lye is mixed").click()
    page.get_by_role("link", name="Log").click()


def jug(page: Page) -> None:
    """The batch that is to be split: its batter is made, and the third of its jugs is to be filled."""
    bench(page, "Kingfisher Weir")
    while "Now fill, 3 of 4" not in page.locator("main").inner_text():
        mixed = page.get_by_role("button", name="The lye is mixed").count()
        press(page, "The lye is mixed" if mixed else "As shown")


def show(page: Page, heading: str) -> None:
    """Scrolls down to a heading."""
    page.get_by_role("heading", name=heading, exact=True).evaluate("heading => heading.scrollIntoView()")


def as_shown(page: Page) -> None:
    press(page, "As shown")


def press(page: Page, button: str) -> None:
    before = page.get_by_role("heading", level=1).inner_text()
    page.get_by_role("button", name=button).click()
    page.get_by_role("heading", level=1).filter(has_not_text=before).wait_for()


# The bench last: scale, lye, log, jug. Each picture goes on where the one before left the batch.
SCENES: tuple[Callable[[Page], None], ...] = (
    *(today, recipe, recipes, look, strip, mould, rack, colour, shelf, stock, certificate),
    *(weigh, lye, events, jug),
)


def take_all() -> None:
    FOLDER.mkdir(exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as folder,
        served_demo(Path(folder)) as address,
        sync_playwright() as playwright,
    ):
        browser = chromium.start(playwright, chromium.needed())
        pages = {
            f"{size}-{theme}": browser.new_context(base_url=address, color_scheme=theme, **options).new_page()
            for size, options in SIZES.items()
            for theme in THEMES
        }
        for page in pages.values():
            sign_in(page, address)
        for scene in SCENES:
            for name, page in pages.items():
                scene(page)
                save(page, FOLDER / f"{scene.__name__}-{name}.png")
        browser.close()


def save(page: Page, path: Path) -> None:
    page.wait_for_load_state("networkidle")
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB")
    picture.quantize(COLOURS).save(path, optimize=True)


if __name__ == "__main__":
    take_all()
