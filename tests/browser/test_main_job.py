"""The whole job on a phone, as a maker does it: from a delivery to bars that are sold."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from batches.models import Batch, Cure, CureNote, WeighIn
from inventory.models import Lot
from inventory.services.reconcile import reconcile
from soapshop.core.models import User
from tests.batches.bench import SHARES, Bench, bench
from tests.browser.conftest import Browsers
from tests.browser.steps import (
    follow,
    go_to,
    heading,
    main,
    mix_lye,
    photo,
    press,
    weigh,
    weigh_otherwise,
)
from tests.factories import PASSWORD, SupplierFactory, WorkshopFactory

pytestmark = pytest.mark.browser


@pytest.fixture
def shop(transactional_db: None) -> Bench:
    WorkshopFactory(name="Lindenbath Soap")
    SupplierFactory(name="Bellwether Oils")
    return bench()


def test_from_a_delivery_to_bars_that_are_sold(browsers: Browsers, shop: Bench, tmp_path: Path) -> None:
    page = browsers.phone(None)
    sign_in(page, shop.maker)
    received = receive_olive_oil(page)
    write_recipe_down(page)
    plan(page)
    before = on_hand()
    weigh_everything(page, received)
    assert on_hand() == before  # nothing leaves stock before the pour
    pour(page, photo(tmp_path))

    assert taken(before) == {
        received: 450,
        shop.lots["Coconut oil"].code: 253,
        shop.lots["Palm oil"].code: 250,
        shop.lots["Castor oil"].code: 50,
        shop.lots["Lye"].code: 143,
        shop.lots["Water"].code: 291,
        shop.lots["Scent"].code: 20,
    }
    assert reconcile() == []
    send_again(page)
    assert Cure.objects.count() == 1
    assert CureNote.objects.filter(words="Light trace.", photo__isnull=False).count() == 1
    assert taken(before)[received] == 450

    cut(page)
    keep_a_record(page, photo(tmp_path))
    wait_until_ready()
    sell_two(page)
    assert Cure.objects.get().bars_left == 8


def sign_in(page: Page, maker: User) -> None:
    page.goto("/")
    page.get_by_label("Sign-in name").fill(maker.username)
    page.get_by_label("Password").fill(PASSWORD)
    press(page, "Sign in")
    expect(heading(page)).to_have_text("Today")


def receive_olive_oil(page: Page) -> str:
    """Five kilograms that expire after those on the shelf; the code of the lot they became."""
    go_to(page, "Stock")
    follow(page, "Receive a delivery")
    page.get_by_label("Supplier", exact=True).select_option(label="Bellwether Oils")
    page.get_by_label("Material").select_option(label="Olive oil")
    expect(main(page)).to_contain_text("Such as 5 kg")
    page.get_by_label("How much").fill("5 kg")
    page.get_by_label("Price").fill("41.50")
    press(page, "Put on the shelf")
    expect(main(page)).to_contain_text("5 000 g")
    lot = Lot.objects.get(delivery__supplier__name="Bellwether Oils")
    assert (lot.material.name, lot.on_hand, lot.cost) == ("Olive oil", 5000, Decimal("41.50"))
    return lot.code


def write_recipe_down(page: Page) -> None:
    """It is worked out while it is typed, and says when it is not safe."""
    page.get_by_text("More", exact=True).tap()
    page.get_by_role("link", name="Recipes").tap()
    follow(page, "New recipe")
    page.get_by_label("Name").fill("Gravel Lane")
    for number, (fat, share) in enumerate(SHARES.items(), 1):
        if not page.get_by_label(f"Fats and oils {number}", exact=True).count():
            press(page, "add a fat")
        page.get_by_label(f"Fats and oils {number}", exact=True).select_option(label=fat)
        page.get_by_label(f"Amount {number}, % of the fats").first.fill(str(share))
    page.get_by_label("Alkali 1").select_option(label="Lye")
    page.get_by_label("Liquid 1").select_option(label="Water")
    result = page.locator("#result")
    expect(result).to_contain_text("143 g")
    expect(result.locator(".safety")).to_contain_text("Safe superfat likely 2.5 to 7.9")
    page.get_by_role("textbox", name="Superfat").fill("0")
    expect(result.locator(".safety-verdict")).to_have_text("Stop")
    page.get_by_role("textbox", name="Superfat").fill("5")
    expect(result.locator(".safety-verdict")).to_have_text("Safe")
    press(page, "add a fragrance")
    page.get_by_label("Fragrance 1").select_option(label="Scent")
    page.locator("#fragrances").get_by_label("Amount 1").fill("2")
    expect(page.locator("#fragrances")).to_contain_text("20 g")
    press(page, "Save the recipe")
    expect(heading(page)).to_have_text("Gravel Lane")
    expect(page.locator(".safety-verdict")).to_have_text("Safe")


def plan(page: Page) -> None:
    go_to(page, "Pour")
    follow(page, "Gravel Lane")
    expect(page.locator("#result")).to_contain_text("All in stock")
    page.get_by_role("radio", name="Bars").tap()
    page.get_by_label("Bars, weight or mould").fill("300")
    expect(page.locator("#result")).to_contain_text("Olive oil, 3 500 g")
    page.get_by_role("radio", name="As written").tap()
    expect(page.locator("#result")).to_contain_text("All in stock")
    press(page, "Start weighing")


def weigh_everything(page: Page, received: str) -> None:
    """Olive oil from the new lot, a little too much coconut oil, palm oil undone and weighed again."""
    expect(heading(page)).to_have_text("Olive oil")
    expect(page.locator(".safety")).to_have_count(0)
    follow(page, "other lot")
    follow(page, received)
    expect(page.locator(".bench-lot")).to_contain_text(received)
    weigh(page, "Olive oil", "450 g")
    weigh_otherwise(page, "Coconut oil", "253")
    expect(page.locator(".safety-verdict")).to_have_text("Safe")
    weigh(page, "Palm oil", "250 g")
    expect(heading(page)).to_have_text("Castor oil")
    press(page, "Undo Palm oil, 250 g")
    weigh(page, "Palm oil", "250 g")
    weigh(page, "Castor oil", "50 g")
    weigh(page, "Water", "291 g")
    weigh(page, "Lye", "143 g")
    mix_lye(page)
    weigh(page, "Scent", "20 g")


def pour(page: Page, picture: Path) -> None:
    """The button is hit twice, as a hurried finger does."""
    expect(heading(page)).to_have_text("Gravel Lane")
    page.get_by_label("First photo").set_input_files(picture)
    expect(page.get_by_role("img", name="The photo you chose")).to_be_visible()
    page.get_by_label("How it went").fill("Light trace.")
    page.get_by_role("button", name="Poured", exact=True).dblclick()
    expect(main(page)).to_contain_text("Cure, day 0")
    expect(page.get_by_role("img", name="Photo of day 0")).to_be_visible()


def send_again(page: Page) -> None:
    """By the back button of the phone, which shows the batch and no second chance to pour it."""
    record = page.url
    page.go_back()
    expect(page).to_have_url(record)
    expect(page.get_by_role("button", name="Poured", exact=True)).to_have_count(0)


def cut(page: Page) -> None:
    follow(page, "Unmould")
    press(page, "It is out of the mould")
    expect(main(page)).to_contain_text("Out of the mould")
    follow(page, "Cut")
    page.get_by_label("Bars", exact=True).fill("10")
    page.get_by_label("Ends and trimmings").fill("38")
    press(page, "Onto the rack")
    expect(main(page)).to_contain_text("10 of 10")


def keep_a_record(page: Page, picture: Path) -> None:
    go_to(page, "Rack")
    follow(page, "Gravel Lane")
    follow(page, "Add a note")
    page.get_by_label("Photo").set_input_files(picture)
    page.get_by_label("What you see").fill("A little ash.")
    press(page, "Keep the note")
    expect(main(page)).to_contain_text("A little ash.")
    follow(page, "Weigh in")
    page.get_by_label("The scale shows").fill("432")
    page.get_by_label("Bars on the scale").fill("3")
    press(page, "Keep the weight")
    expect(page.get_by_role("table", name="Weigh-ins")).to_contain_text("144 g")
    assert (WeighIn.objects.get().grams, CureNote.objects.count()) == (432, 2)


def wait_until_ready() -> None:
    """Four weeks later."""
    earlier = timezone.localdate() - timedelta(days=29)
    Cure.objects.update(
        started_on=earlier, cut_on=earlier, unmoulded_on=earlier, ready_on=timezone.localdate()
    )


def sell_two(page: Page) -> None:
    go_to(page, "Shelf")
    expect(main(page)).to_contain_text("10 bars ready to sell")
    code = Batch.objects.get().code
    follow(page, f"Take off Gravel Lane {code}")
    press(page, "2 sold")
    expect(main(page)).to_contain_text("8 bars ready to sell")


def on_hand() -> dict[str, Decimal]:
    return dict(Lot.objects.values_list("code", "on_hand"))


def taken(before: dict[str, Decimal]) -> dict[str, Decimal]:
    """What each lot has lost since; lots that lost nothing are left out."""
    return {code: before[code] - now for code, now in on_hand().items() if before[code] != now}
