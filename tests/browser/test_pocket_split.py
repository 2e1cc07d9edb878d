"""The batter split without network: jug by jug on the phone, then the same in the book."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from batches.models import Batch, State
from batches.queries.weighing import bench as bench_of
from inventory.services.reconcile import reconcile
from tests.batches.bench import Bench
from tests.batches.split_bench import split_bench, told_of, weigh_bucket
from tests.browser.network import Network, network_to
from tests.browser.offline import IN_THE_BOOK, Phone, bar, pour
from tests.browser.scenes import on
from tests.browser.steps import heading, main, press
from tests.browser.test_accessibility import violations
from tests.browser.test_layout import BENCH_TARGET, TOO_LOW, TOO_WIDE

pytestmark = pytest.mark.browser

NOTHING_WAITS = "There is network, and nothing waits."


@pytest.fixture
def network(live_server) -> Iterator[Network]:
    with network_to(live_server.url) as network:
        yield network


@pytest.fixture
def shop(transactional_db: None) -> Bench:
    return split_bench()


@pytest.fixture
def phone(shop: Bench, network: Network, running_chromium: Browser, tmp_path: Path) -> Iterator[Phone]:
    phone = Phone(running_chromium, tmp_path / "phone", network, viewport={"width": 360, "height": 740})
    phone.sign_in(shop.maker)
    yield phone
    phone.throw_away()
    assert phone.faults == []


@pytest.fixture
def batch(shop: Bench) -> Batch:
    """Weighed up to the jugs."""
    batch = shop.plan()
    weigh_bucket(shop, batch)
    return batch


def at_the_jugs(phone: Phone, network: Network, batch: Batch) -> Page:
    """The kept bench, without network, at the first jug."""
    page = phone.open_bench(batch)
    network.cut()
    page.goto(on(batch, "split"))
    expect(heading(page)).to_have_text("Base")
    return page


def shown(page: Page) -> Decimal:
    """The batter that the card of a jug shows, in grams."""
    return Decimal(re.sub(r"[^0-9.]", "", page.locator(".big-weight").inner_text()))


def jug(page: Page, name: str) -> Decimal:
    """Fills a jug as it is shown."""
    expect(heading(page)).to_have_text(name)
    grams = shown(page)
    press(page, "As shown")
    expect(heading(page)).not_to_have_text(name)
    return grams


def other_weights(page: Page, grams: str) -> None:
    page.get_by_role("link", name="Other weights").tap()
    page.get_by_label("Batter").fill(grams)


def jugs_of(page: Page) -> Locator:
    found = page.locator("details.card-lines")
    if found.get_attribute("open") is None:
        found.locator("summary").tap()
    return found


def sent(page: Page, network: Network) -> None:
    network.join()
    expect(bar(page)).to_have_text(NOTHING_WAITS)


def test_a_batch_split_without_network_is_in_the_book_as_it_was_on_the_phone(shop, network, phone):
    batch = shop.plan()
    page = phone.open_bench(batch)
    network.cut()
    press(page, "As shown")
    while heading(page).inner_text() != "Base":
        before = bar(page).inner_text()
        press(page, "The lye is mixed" if heading(page).inner_text() == "Mix the lye" else "As shown")
        expect(bar(page)).not_to_have_text(before)
    planned = shown(page)
    other_weights(page, str(planned + 100))
    scent = Decimal(page.get_by_label("Scent", exact=True).input_value())
    press(page, "Done")
    grams = {"Base": planned + 100, "Charcoal": jug(page, "Charcoal")}
    expect(heading(page)).to_have_text("Rose")
    jugs_of(page).get_by_role("button", name="Go on without Rose").tap()
    grams |= {name: jug(page, name) for name in ("Cream", "For embeds")}
    expect(page.locator(".big-weight")).to_have_text(re.compile("10.g"))
    press(page, "As shown")
    expect(page.locator(".big-weight")).to_have_text(re.compile("10.pieces"))
    press(page, "As shown")
    pour(page, "Five jugs in the dark.")
    network.join()
    expect(main(page)).to_contain_text(IN_THE_BOOK)

    batch.refresh_from_db()
    board = bench_of(batch)
    book = told_of(board.split)
    assert batch.state == State.POURED
    assert {name: held for name, (held, _) in book.items()} == {**grams, "Rose": None}
    assert batch.jugs.get(name="Rose").dropped
    assert book["Base"][1] == {"Scent": scent}
    assert book["Rose"][1] == {"Scent": 0, "Pink": 0}
    assert sum(grams.values()) == board.split.batter
    assert grams["For embeds"] == 100
    assert shop.on_hand("Bees") == 490
    assert shop.on_hand("Scent") == 5000 - sum(held.get("Scent", 0) for _, held in book.values())
    assert reconcile() == []


def test_what_the_phone_shows_is_what_the_book_shows(network, phone, batch):
    """After a jug that was heavier than planned, from the same weights."""
    page = at_the_jugs(phone, network, batch)
    other_weights(page, "800")
    press(page, "Done")
    expect(heading(page)).to_have_text("Charcoal")
    told = [row.split("\n") for row in jugs_of(page).get_by_role("listitem").all_inner_texts()]
    weight, words = shown(page), page.locator(".jug-words").inner_text()
    stirred = page.locator(".stir-in").inner_text().split()
    sent(page, network)

    page.goto(on(batch, "split"))
    expect(heading(page)).to_have_text("Charcoal")

    assert shown(page) == weight
    assert page.locator(".jug-words").inner_text() == words
    assert page.locator(".stir-in").inner_text().split() == stirred
    book = bench_of(batch).split
    assert [row[-1].split("\u00a0g")[0] for row in told] == [f"{card.grams:.0f}" for card in book.cards]


def test_what_went_into_a_jug_is_taken_back_and_a_jug_left_out_filled_after_all(network, phone, batch):
    page = at_the_jugs(phone, network, batch)
    jug(page, "Base")
    jugs_of(page).get_by_role("button", name="Go on without Charcoal").tap()
    expect(heading(page)).to_have_text("Rose")
    jugs_of(page).get_by_role("link", name="Base").tap()
    expect(main(page)).to_contain_text("Filled at")
    press(page, "Take back what went in")
    other_weights(page, "600")
    press(page, "Done")
    expect(heading(page)).to_have_text("Rose")
    jugs_of(page).get_by_role("link", name="Charcoal").tap()
    press(page, "Fill it after all")
    expect(heading(page)).to_have_text("Charcoal")
    jug(page, "Charcoal")
    sent(page, network)

    book = told_of(bench_of(batch).split)
    assert book["Base"][0] == 600
    assert book["Charcoal"][0]
    assert book["Charcoal"][1]["Black"] > 0
    assert not batch.jugs.filter(dropped=True).exists()


def test_another_portion_and_plain_batter_come_out_of_the_bucket(network, phone, batch):
    page = at_the_jugs(phone, network, batch)
    planned = shown(page)
    jugs_of(page).get_by_role("link", name="Take out another portion").tap()
    press(page, "Taken")
    expect(page.get_by_label("Name")).to_have_attribute("aria-invalid", "true")
    page.get_by_label("Name").fill("rose")
    press(page, "Taken")
    expect(main(page)).to_contain_text("There is a jug called so already.")
    page.get_by_label("Name").fill("Test bar 🧼")
    page.get_by_label("The scale shows").fill("5 kg")
    press(page, "Taken")
    expect(main(page)).to_contain_text("left in the bucket")
    page.get_by_label("The scale shows").fill("60")
    page.get_by_label("Goes into").select_option("Another mould")
    press(page, "Taken")
    expect(heading(page)).to_have_text("Base")
    assert shown(page) < planned
    jugs_of(page).get_by_role("link", name="Test bar 🧼").tap()
    page.get_by_role("link", name="Add plain batter, to make it lighter").tap()
    page.get_by_label("More batter").fill("nothing")
    press(page, "Taken")
    expect(page.get_by_label("More batter")).to_have_attribute("aria-invalid", "true")
    page.get_by_label("More batter").fill("15")
    press(page, "Taken")
    sent(page, network)

    added = batch.jugs.get(planned=None)
    assert (added.name, added.grams, added.destination) == ("Test bar 🧼", 75, "other")


def test_a_jug_sent_by_a_form_that_did_not_get_through_is_filled_once(network, phone, batch):
    page = phone.open_bench(batch)
    page.goto(on(batch, "split"))
    expect(heading(page)).to_have_text("Base")
    grams = shown(page)
    network.cut()
    press(page, "As shown")
    expect(page.locator("main[data-pocket]")).to_be_attached()
    expect(heading(page)).to_have_text("Charcoal")
    sent(page, network)

    assert batch.jugs.get(name="Base").grams == grams
    assert batch.jugs.exclude(grams=None).count() == 1


def test_a_split_batch_poured_as_planned_without_network_fills_every_jug(shop, network, phone):
    batch = shop.plan()
    page = phone.open_bench(batch)
    page.goto(on(batch, "confirm", "?as_planned=on"))
    network.cut()
    press(page, "Poured")
    expect(heading(page)).to_contain_text("Poured on this phone at")
    network.join()
    expect(main(page)).to_contain_text(IN_THE_BOOK)

    batch.refresh_from_db()
    assert batch.state == State.POURED
    assert [each.grams for each in batch.jugs.all()] == [each.planned for each in batch.jugs.all()]
    assert reconcile() == []


@pytest.mark.parametrize("colours", ["light", "dark"])
def test_every_state_of_the_split_can_be_read_hit_and_seen(shop, network, phone, batch, colours):
    phone.turn_off()
    phone._options = {**phone._options, "color_scheme": colours}
    phone.turn_on()
    wrong: dict[str, list[str]] = {}
    for name, page in states(network, phone, batch):
        found = [*violations(page), *page.evaluate(TOO_LOW, BENCH_TARGET), *page.evaluate(TOO_WIDE)]
        if found:
            wrong[name] = found

    assert wrong == {}


def states(network: Network, phone: Phone, batch: Batch) -> Iterator[tuple[str, Page]]:
    page = at_the_jugs(phone, network, batch)
    yield "jug", page
    jugs_of(page)
    yield "all jugs", page
    other_weights(page, "a lot")
    press(page, "Done")
    expect(page.get_by_label("Batter")).to_have_attribute("aria-invalid", "true")
    yield "other weights refused", page
    page.get_by_label("Batter").fill("1400")
    press(page, "Done")
    expect(main(page)).to_contain_text("Enter what you take, or leave a jug out.")
    yield "too little left", page
    jugs_of(page).get_by_role("link", name="Base").tap()
    expect(main(page)).to_contain_text("Filled at")
    yield "filled", page
    page.get_by_role("link", name="Add plain batter, to make it lighter").tap()
    expect(heading(page)).to_have_text("Add plain batter")
    yield "more", page
    page.evaluate("location.hash = 'take-out'")
    expect(heading(page)).to_have_text("Take out another portion")
    yield "take out", page
