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


def rack(page: Page) -> None:
    page.goto("/rack/")


def shelf(page: Page) -> None:
    page.goto("/shelf/")


def stock(page: Page) -> None:
    page.goto("/stock/")


def bench(page: Page) -> None:
    page.goto("/pour/")
    page.locator('main a[href$="/weigh/"]').first.click()


def weigh(page: Page) -> None:
    """The batch that is planned for tomorrow, two fats weighed."""
    bench(page)
    page.get_by_role("heading", level=1).wait_for()
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


def as_shown(page: Page) -> None:
    before = page.get_by_role("heading", level=1).inner_text()
    page.get_by_role("button", name="As shown").click()
    page.get_by_role("heading", level=1).filter(has_not_text=before).wait_for()


# The bench last: scale, lye, log. Each picture goes on where the one before left the batch.
SCENES: tuple[Callable[[Page], None], ...] = (today, recipe, rack, shelf, stock, weigh, lye, events)


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
