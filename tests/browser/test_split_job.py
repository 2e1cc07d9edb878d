"""A bar in five portions on a phone: designed, split, poured, cut, and every gram found again."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from batches.models import Batch, Cure, Jug
from batches.queries.balance import balance
from batches.queries.weighing import bench as board_of
from inventory.models import Lot
from inventory.queries.made import base_parts
from inventory.services.reconcile import reconcile
from recipes.models import Version
from tests.batches.bench import Bench, bench
from tests.browser.conftest import Browsers
from tests.browser.steps import follow, heading, main, mix_lye, press, weigh
from tests.factories import LotFactory, MaterialFactory, MouldFactory

pytestmark = pytest.mark.browser

# Name, per cent of the batter (the rest where there is none), technique.
PORTIONS = (
    ("Ink", "30", "layer"),
    ("Chalk", "25", "layer"),
    ("Leaf", "15", "drop"),
    ("Spare", "10", "layer"),
    ("Crest", None, "top"),
)


@pytest.fixture
def shop(transactional_db: None) -> Bench:
    shop = bench()
    for name, colour in (("Coal", "#3a3f44"), ("Spinach", "#6f8f5a")):
        shop.materials[name] = MaterialFactory(name=name, kind="colour", colour=colour)
        shop.lots[name] = LotFactory(material=shop.materials[name], quantity=100, by=shop.maker)
    mould = MouldFactory(name="Long loaf", length=250, width=80, depth=90)
    Version.objects.filter(pk=shop.version.pk).update(mould=mould)
    return shop


def test_five_portions_from_the_table_to_the_rack(browsers: Browsers, shop: Bench) -> None:
    page = browsers.phone(shop.maker)
    design(page, shop)
    split_in_the_version()
    before = on_hand()
    plan_and_weigh(page, shop)
    fill_the_jugs(page)
    pour_and_cut(page)
    every_gram_is_found_again(page, before)


def design(page: Page, shop: Bench) -> None:
    """The bar is drawn and the jugs are worked out while it is said."""
    page.goto(reverse("recipes:recipe", args=[shop.version.recipe_id]))
    follow(page, "Split and colour")
    portions = page.locator("fieldset.portion")
    for count in range(2, 6):
        press(page, "Add a portion")
        expect(portions).to_have_count(count)
    for number, (name, share, technique) in enumerate(PORTIONS):
        one = portions.nth(number)
        one.locator("[name$='-name']").fill(name)
        one.locator("[name$='-size_by']").select_option("share" if share else "rest")
        if share:
            one.locator("[name$='-size']").fill(share)
        one.locator("[name$='-technique']").select_option(technique)
    say_more(page, 1, "scent", "none")
    say_more(page, 3, "destination", "kept")
    stir_in(page, 0, "Coal", "1")
    stir_in(page, 2, "Spinach", "0.8")
    result = page.locator("#result")
    expect(result).to_contain_text("430 g")
    expect(result).to_contain_text("kept back")
    expect(page.locator("#bar svg")).to_have_attribute("aria-label", re.compile("Leaf.*drop swirl"))
    press(page, "Save the look")
    expect(heading(page)).to_have_text(shop.version.recipe.name)


def say_more(page: Page, number: int, field: str, value: str) -> None:
    portion = page.locator("fieldset.portion").nth(number)
    choice = portion.locator(f"[name$='-{field}']")
    if not choice.is_visible():
        portion.locator("summary").tap()
    choice.select_option(value)


def stir_in(page: Page, number: int, material: str, amount: str) -> None:
    portion = page.locator("fieldset.portion").nth(number)
    expect(page.locator(".htmx-request")).to_have_count(0)
    portion.get_by_role("button", name="add a colour or something else").tap()
    expect(portion.locator(".into")).to_have_count(1)
    portion.locator("[name$='-material']").select_option(label=material)
    portion.locator("[name$='-amount']").fill(amount)


def split_in_the_version() -> None:
    version = Version.objects.get()
    assert list(version.portions.values_list("name", flat=True)) == [name for name, _, _ in PORTIONS]
    assert [layer.name for layer in version.look.layers] == ["Ink", "Chalk", "Leaf", "Crest"]


def plan_and_weigh(page: Page, shop: Bench) -> None:
    follow(page, "Plan a pour")
    press(page, "Start weighing")
    for material, shown in (
        ("Olive oil", "450 g"),
        ("Coconut oil", "250 g"),
        ("Palm oil", "250 g"),
        ("Castor oil", "50 g"),
        ("Water", "291 g"),
        ("Lye", "143 g"),
    ):
        weigh(page, material, shown)
    mix_lye(page)


def fill_the_jugs(page: Page) -> None:
    """The first one heavier than planned: what is still open is worked out again."""
    expect(heading(page)).to_have_text("Ink")
    expect(page.locator(".big-weight")).to_have_text("430 g")
    expect(page.locator(".stir-in")).to_contain_text("Coal")
    follow(page, "Other weights")
    page.get_by_label("Batter").fill("470")
    expect(page.get_by_label("Scent", exact=True)).to_have_value("7")
    press(page, "Done")
    for name, shown in (("Chalk", "359 g"), ("Leaf", "215 g"), ("Spare", "143 g"), ("Crest", "247 g")):
        expect(heading(page)).to_have_text(name)
        expect(page.locator(".big-weight")).to_have_text(shown)
        press(page, "As shown")


def pour_and_cut(page: Page) -> None:
    expect(page.get_by_role("button", name="Poured", exact=True)).to_be_visible()
    page.get_by_label("How high it stands in the mould").fill("65")
    press(page, "Poured")
    expect(main(page)).to_contain_text("Cure, day 0")
    follow(page, "Cut")
    page.get_by_label("Bars", exact=True).fill("10")
    page.get_by_label("All bars together").fill("1190")
    page.get_by_label("Ends and trimmings").fill("85")
    press(page, "Onto the rack")
    expect(main(page)).to_contain_text("10 of 10")


def every_gram_is_found_again(page: Page, before: dict[str, Decimal]) -> None:
    """In bars, trimmings, the lot that was kept back, and losses; and in the lots that it came from."""
    batch = Batch.objects.get()
    board = board_of(batch)
    found = balance([card.line for card in board.lines], board.split, Cure.objects.get())
    assert found is not None
    went = {one.where: one.grams for one in found.went}
    taken = {code: before[code] - now for code, now in on_hand().items() if code in before}
    assert sum(taken.values()) == found.put_in == sum(went.values())
    kept = Jug.objects.get(name="Spare").lot
    assert kept is not None
    assert went == {
        "Bars, fresh": Decimal(1190),
        "Ends and trimmings": Decimal(85),
        "Lost: water, and what stuck to mould and tools": found.put_in - 1190 - 85 - kept.quantity,
        "Spare, kept back": kept.quantity,
    }
    assert abs(sum(grams for _, grams in base_parts(kept)) - kept.quantity) < Decimal("0.05")
    assert reconcile() == []
    expect(main(page)).to_contain_text("Where every gram went")
    expect(main(page)).to_contain_text("1 190 g")
    page.goto(reverse("inventory:lot", args=[kept.pk]))
    expect(main(page)).to_contain_text("Made of")


def on_hand() -> dict[str, Decimal]:
    return dict(Lot.objects.values_list("code", "on_hand"))
