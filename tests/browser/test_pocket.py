"""The bench in the pocket in each of its states: for everyone, for wet gloves, on a narrow phone."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from uuid import uuid4

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect

from batches.models import Batch, Weighing
from batches.queries.remedy import remedy
from batches.queries.weighing import bench as bench_of
from inventory.models import Kind, Lot
from inventory.services.ledger import correct
from shared.saponification import Verdict
from tests.batches.bench import Bench, bench
from tests.browser.network import Network, network_to
from tests.browser.offline import Phone, bar, kept_bench, pour
from tests.browser.scenes import on, weigh_lines
from tests.browser.steps import heading, main, press
from tests.browser.test_accessibility import violations
from tests.browser.test_layout import BENCH_TARGET, LOWER_PART, NUMERAL, TOO_LOW, TOO_WIDE
from tests.core.pictures import jpeg
from tests.factories import OwnerFactory, WorkshopFactory

pytestmark = pytest.mark.browser


@pytest.fixture
def network(live_server) -> Iterator[Network]:
    with network_to(live_server.url) as network:
        yield network


@pytest.fixture
def shop(transactional_db: None) -> Bench:
    return bench()


@pytest.mark.parametrize(("colours", "width"), [("light", 360), ("dark", 320)])
def test_every_state_can_be_read_hit_and_seen_without_network(
    shop, network, running_chromium, tmp_path, colours, width
):
    size = {"width": width, "height": 740}
    phone = Phone(running_chromium, tmp_path / "phone", network, color_scheme=colours, viewport=size)
    phone.sign_in(OwnerFactory())
    wrong: dict[str, list[str]] = {}
    for name, page in walk(shop, network, phone):
        if found := [*violations(page), *page.evaluate(TOO_LOW, BENCH_TARGET), *page.evaluate(TOO_WIDE)]:
            wrong[name] = found
    phone.throw_away()

    assert wrong == {}
    assert phone.faults == []


def walk(shop: Bench, network: Network, phone: Phone) -> Iterator[tuple[str, Page]]:
    """Each state of the kept bench, one after the other."""
    shop.lot("Coconut oil")
    batch = shop.plan()
    weigh_lines(batch, 4, shop.maker)
    page = phone.open_bench(batch)
    network.cut()
    page.goto(on(batch, "weigh"))
    yield "weigh", settled(page, "Water")
    coconut = batch.lines.all()[1]
    open_at(page, f"#weigh?line={coconut.pk}")
    yield "weighed", settled(page, "Coconut oil")
    press(page, "Undo")
    page.get_by_role("link", name="other lot").tap()
    yield "lots", settled(page, "Out of which lot?")
    page.get_by_role("link", name="Back").tap()
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("a lot")
    press(page, "Weighed")
    expect(page.get_by_label("The scale shows")).to_have_attribute("aria-invalid", "true")
    yield "other weight refused", page
    page.get_by_label("The scale shows").fill("250 g")
    press(page, "Weighed")
    settled(page, "Water")
    open_at(page, "#add")
    yield "add", settled(page, "Add beyond the card")
    open_at(page, "#")
    press(page, "As shown")
    settled(page, "Lye")
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("175 g")
    press(page, "Weighed")
    yield "lye, not safe", settled(page, "Mix the lye")
    press(page, "The lye is mixed")
    settled(page, "Scent")
    page.get_by_role("link", name="Log").tap()
    press(page, "Light trace")
    press(page, "Fats")
    expect(page.get_by_label("Temperature")).to_have_attribute("aria-invalid", "true")
    yield "events, one refused", page
    page.get_by_role("link", name="Back to the bench").tap()
    press(page, "As shown")
    settled(page, "Pour")
    press(page, "Poured")
    expect(page.get_by_label("Why it shall be poured all the same")).to_have_attribute("aria-invalid", "true")
    yield "pour, no reason given", page
    page.get_by_label("Why it shall be poured all the same").fill("For the floor.")
    pour(page, "")
    yield "poured", page
    page.goto(reverse("batches:rack"))
    expect(page.get_by_role("link", name="Four oils")).to_be_visible()
    yield "no network", page
    page.get_by_role("link", name="Four oils").tap()
    lot = Lot.objects.get(pk=shop.lots["Coconut oil"].pk)
    correct(lot=lot, counted=Decimal(10), reason="Spilt.", key=str(uuid4()), by=shop.maker)
    network.join()
    expect(main(page)).to_contain_text("holds less now")
    yield "choose", page


def settled(page: Page, title: str) -> Page:
    expect(heading(page)).to_have_text(title)
    return page


def open_at(page: Page, place: str) -> None:
    page.evaluate("place => { location.hash = place }", place)


@pytest.fixture
def kept(
    shop: Bench, network: Network, running_chromium: Browser, tmp_path: Path
) -> Iterator[Callable[..., Page]]:
    """The kept bench of a batch, without network and with the first fat weighed."""
    phone = Phone(running_chromium, tmp_path / "phone", network)

    def opened(batch: Batch) -> Page:
        phone.sign_in(shop.maker)
        page = phone.open_bench(batch)
        network.cut()
        press(page, "As shown")
        kept_bench(page)
        return page

    yield opened
    phone.throw_away()
    assert phone.faults == []


def test_the_numeral_is_large_and_the_main_action_under_the_thumb(shop, kept):
    page = kept(shop.plan())
    action = page.get_by_role("button", name="As shown")
    box = action.bounding_box()

    assert box
    assert box["y"] >= LOWER_PART * 740
    assert box["height"] >= BENCH_TARGET
    size = page.locator(".big-weight").evaluate("one => parseFloat(getComputedStyle(one).fontSize)")
    assert size >= NUMERAL
    expect(page.locator(".safety-verdict")).to_be_in_viewport(ratio=1)


def test_the_safety_range_is_that_of_the_server(shop, network, kept):
    """From the same weights, without the network and then with it."""
    batch = shop.plan()
    page = kept(batch)
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("225")
    press(page, "Weighed")
    settled(page, "Palm oil")
    words = page.locator(".safety-words").inner_text()
    assert not words.startswith("Safe")
    network.join()
    expect(bar(page)).to_have_text("There is network, and nothing waits.")

    page.goto(on(batch, "weigh"))
    settled(page, "Palm oil")
    assert page.locator(".safety-words").inner_text().split() == words.split()


def ways_of(batch: Batch) -> dict[str, Decimal]:
    """What the bench offers to add or to weigh more of, by material; the book must know of the weights."""
    return {each.lot.material.name: each.grams for each in remedy(bench_of(batch)).additions}


def test_the_way_back_is_that_of_the_server_and_makes_the_pot_safe(shop, network, kept):
    batch = shop.plan()
    page = kept(batch)
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("120")
    press(page, "Weighed")
    settled(page, "Palm oil")
    expect(page.locator(".safety-verdict")).to_have_text("Stop")
    offered = page.locator("#remedy").inner_text() + page.locator("#safety").inner_text()
    network.join()
    expect(bar(page)).to_have_text("There is network, and nothing waits.")
    ways = ways_of(batch)
    assert ways
    for name, grams in ways.items():
        assert f"{grams:.0f}\u00a0g" in offered, name
        assert name in offered
    network.cut()

    button = page.locator("#safety, #remedy").get_by_role("button", name="Add").first
    words = button.inner_text()
    button.tap()
    expect(page.locator(".safety-verdict")).to_have_text("Safe")
    network.join()
    expect(bar(page)).to_have_text("There is network, and nothing waits.")

    assert bench_of(batch).safety.verdict == Verdict.SAFE
    added = Weighing.objects.filter(line__batch=batch).order_by("-pk")[0]
    assert words == f"Add {added.quantity:.0f}\u00a0g {added.lot.material}"


def test_a_pot_that_is_too_fat_gets_water_and_lye_by_one_tap(shop, network, kept):
    batch = shop.plan()
    page = kept(batch)
    for title in ("Palm oil", "Castor oil", "Water", "Lye"):
        press(page, "As shown")
        settled(page, title)
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("128")
    press(page, "Weighed")
    settled(page, "Mix the lye")
    expect(page.locator("#remedy")).to_contain_text("Fatter than planned")

    page.locator("#remedy").get_by_role("button", name="Add").dblclick()
    expect(page.locator("#remedy")).to_be_empty()
    network.join()
    expect(bar(page)).to_have_text("There is network, and nothing waits.")

    added = Weighing.objects.filter(line__batch=batch).order_by("pk")[6:]
    assert [each.lot.material.name for each in added] == ["Water", "Lye"]
    found = bench_of(batch).safety
    assert found.verdict == Verdict.SAFE
    assert found.nominal == pytest.approx(5, abs=0.7)


def test_where_no_fat_of_the_card_helps_the_phone_says_so(shop, kept):
    Lot.objects.filter(material__kind=Kind.FAT).update(on_hand=0)
    for name, on_hand in {"Olive oil": 450, "Coconut oil": 250, "Palm oil": 250, "Castor oil": 50}.items():
        Lot.objects.filter(material__name=name).update(on_hand=on_hand)
    page = kept(shop.plan())
    for title in ("Palm oil", "Castor oil", "Water", "Lye"):
        press(page, "As shown")
        settled(page, title)
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("175")
    press(page, "Weighed")
    settled(page, "Mix the lye")

    expect(page.locator(".safety-advice")).to_contain_text("no fat of the card that this phone knows of")
    expect(page.locator("#remedy")).to_be_empty()


def test_a_workshop_in_ounces_reads_and_writes_them(shop, kept):
    WorkshopFactory(units="us")
    page = kept(shop.plan())
    expect(page.locator(".big-weight")).to_have_text("8.82 oz")
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("9")
    press(page, "Weighed")
    expect(page.get_by_role("button", name="Undo Coconut oil, 9.00\u00a0oz")).to_be_visible()
    page.get_by_role("link", name="Log").tap()
    page.get_by_label("Temperature").fill("104")
    press(page, "Room")
    expect(main(page)).to_contain_text("Room: 104\u00a0°F")


def test_what_was_logged_by_a_slip_is_taken_back(shop, network, kept):
    page = kept(shop.plan())
    page.get_by_role("link", name="Log").tap()
    press(page, "Seizing")
    press(page, "Light trace")
    expect(main(page).locator(".pocket-log li")).to_have_count(2)
    main(page).get_by_role("listitem").filter(has_text="Seizing").get_by_role("button", name="Undo").tap()
    expect(main(page).locator(".pocket-log li")).to_have_count(1)
    network.join()
    expect(bar(page)).to_have_text("There is network, and nothing waits.")
    batch = Batch.objects.get()
    assert [event.kind for event in batch.events.all()] == ["light_trace"]


def test_a_large_photo_is_made_smaller_on_the_phone(shop, network, kept, tmp_path):
    page = kept(shop.plan())
    page.get_by_role("link", name="Log").tap()
    large = tmp_path / "large.jpg"
    large.write_bytes(jpeg((4000, 3000)))
    page.get_by_label("Photo").set_input_files(large)
    press(page, "Keep the note")
    expect(main(page)).to_contain_text("with a photo")
    size = page.evaluate(
        """async () => {
          const open = indexedDB.open("soapshop");
          const database = await new Promise((done) => { open.onsuccess = () => done(open.result); });
          const all = database.transaction("deeds").objectStore("deeds").getAll();
          const deeds = await new Promise((done) => { all.onsuccess = () => done(all.result); });
          const { width, height } = await createImageBitmap(deeds.find(({ photo }) => photo).photo);
          return [width, height];
        }"""
    )

    assert size == [2000, 1500]
