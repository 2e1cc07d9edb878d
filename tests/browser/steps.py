"""Single steps of a maker with a phone in hand."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from batches.models import Batch
from tests.core.pictures import jpeg


def heading(page: Page) -> Locator:
    return page.get_by_role("heading", level=1)


def main(page: Page) -> Locator:
    return page.get_by_role("main")


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).tap()


def follow(page: Page, name: str) -> None:
    main(page).get_by_role("link", name=name, exact=True).tap()


def go_to(page: Page, word: str) -> None:
    """By the bar at the foot of the phone."""
    page.get_by_role("navigation", name="Main").get_by_role("link", name=word).tap()
    expect(page.get_by_role("navigation", name="Main").locator("[aria-current=page]")).to_contain_text(word)


def weigh(page: Page, material: str, shown: str) -> None:
    """The scale shows what the card says."""
    expect(heading(page)).to_have_text(material)
    expect(page.locator(".big-weight")).to_have_text(shown)
    press(page, "As shown")


def weigh_otherwise(page: Page, material: str, typed: str) -> None:
    """The scale shows another weight."""
    expect(heading(page)).to_have_text(material)
    follow(page, "Other weight")
    page.get_by_label("The scale shows").fill(typed)
    press(page, "Weighed")


def mix_lye(page: Page) -> None:
    expect(heading(page)).to_have_text("Mix the lye")
    expect(page.get_by_role("note")).to_contain_text("Lye burns skin and blinds eyes")
    expect(main(page)).to_contain_text("Never liquid onto lye")
    press(page, "The lye is mixed")


def weigh_whole_card(page: Page, batch: Batch) -> None:
    """Everything as shown, with the lye in its place, up to the last look before the pour."""
    mixed = False
    for line in batch.lines.select_related("material"):
        if not (mixed or line.before_the_lye):
            mix_lye(page)
            mixed = True
        expect(heading(page)).to_have_text(line.material.name)
        press(page, "As shown")
    if not mixed:
        mix_lye(page)
    expect(page.get_by_role("button", name="Poured", exact=True)).to_be_visible()


def photo(folder: Path) -> Path:
    """A picture such as a phone makes."""
    path = folder / "pour.jpg"
    path.write_bytes(jpeg())
    return path
