"""A pour without network: kept on the phone, sent once, in order, whatever happens in between."""

from __future__ import annotations

import itertools
import re
import threading
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from uuid import uuid4

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, expect

from batches.models import Batch, Cure, CureNote, Deed, Event, State, Weighing
from inventory.models import Lot
from inventory.services.ledger import correct
from inventory.services.reconcile import reconcile
from soapshop.core.models import Photo, User
from tests.batches.bench import Bench, bench
from tests.browser.demo import sign_in
from tests.browser.network import Network, network_to
from tests.browser.offline import (
    IN_THE_BOOK,
    DemoServer,
    Phone,
    bar,
    kept_bench,
    note_with_photo,
    pour,
    pour_of_the_demo,
    weigh_rest,
)
from tests.browser.scenes import on
from tests.browser.steps import heading, main, photo, press
from tests.factories import OwnerFactory, UserFactory

pytestmark = pytest.mark.browser

AFTER_ONE_POUR = {
    "Olive oil": 4550,
    "Coconut oil": 4750,
    "Palm oil": 4750,
    "Castor oil": 4950,
    "Lye": 4857,
    "Water": 4709,
    "Scent": 4980,
}
DEED = re.compile(rb"POST /batches/\d+/deeds/ ")
FORM = re.compile(rb"POST /batches/\d+/weigh/ ")
ON_HAND = "SELECT id, on_hand FROM inventory_lot"
PHOTOS = "SELECT count(*) FROM core_photo"
WEIGHED_BY_DEEDS = (
    "SELECT weighing.lot_id, weighing.quantity FROM batches_weighing weighing"
    " JOIN batches_deed deed ON deed.key = weighing.key"
)
DEEDS = 9  # of a pour: seven weights, the lye, the pour


@pytest.fixture
def shop(transactional_db: None) -> Bench:
    return bench()


@pytest.fixture
def network(live_server) -> Iterator[Network]:
    with network_to(live_server.url) as network:
        yield network


@pytest.fixture
def new_phone(
    running_chromium: Browser, network: Network, tmp_path: Path
) -> Iterator[Callable[[User], Phone]]:
    phones: list[Phone] = []

    def made(user: User) -> Phone:
        phone = Phone(running_chromium, tmp_path / f"phone-{len(phones)}", network)
        phones.append(phone)
        phone.sign_in(user)
        return phone

    yield made
    for phone in phones:
        phone.throw_away()
    assert [fault for phone in phones for fault in phone.faults] == []


def test_a_whole_pour_without_network(shop, network, new_phone, tmp_path):
    batch, phone = shop.plan(), new_phone(shop.maker)
    page = phone.open_bench(batch)
    network.cut()
    press(page, "As shown")
    kept_bench(page)
    expect(bar(page)).to_contain_text("On this phone: 1 waiting")
    weigh_rest(page)
    note_with_photo(page, "Thick at once.", photo(tmp_path))
    pour(page, "Poured in the dark.", photo(tmp_path))
    expect(main(page)).to_contain_text("10 things wait to be sent.")
    assert (Batch.objects.get().state, shop.on_hand("Olive oil")) == (State.PLANNED, 5000)

    phone.close_tab()
    phone.restart()
    page = phone.page
    page.goto("/")
    expect(heading(page)).to_have_text("No network")
    expect(main(page)).to_contain_text("10 things waiting to be sent")
    page.get_by_role("link", name="Four oils").tap()
    expect(heading(page)).to_contain_text("Poured on this phone at")
    network.join()

    expect(main(page)).to_contain_text(IN_THE_BOOK)
    poured = Batch.objects.get()
    assert (poured.state, poured.verdict, reconcile()) == (State.POURED, "safe", [])
    assert stock(shop) == AFTER_ONE_POUR
    assert Photo.objects.count() == 2
    assert CureNote.objects.get().words == "Poured in the dark."
    assert Event.objects.get().words == "Thick at once."
    assert (Deed.objects.count(), Cure.objects.count(), Weighing.objects.count()) == (10, 1, 7)


def stock(shop: Bench) -> dict[str, int]:
    return {name: int(shop.on_hand(name)) for name in shop.lots}


def test_the_server_is_killed_in_the_middle_of_the_sync(running_chromium, new_demo, tmp_path):
    server = DemoServer(new_demo())
    with network_to(server.address) as network:
        phone = Phone(running_chromium, tmp_path / "phone", network)
        sign_in(phone.page, network.address)
        pour_of_the_demo(phone.page, network, photo(tmp_path))
        before, photos = dict(server.rows(ON_HAND)), server.rows(PHOTOS)[0][0]

        dead = kill_at_the_fourth_deed(network, server)
        network.join()
        assert dead.wait(timeout=60)
        arrived = server.rows("SELECT count(*) FROM batches_deed")[0][0]
        server.start()
        network.server = server.address

        expect(main(phone.page)).to_contain_text(IN_THE_BOOK)
        phone.throw_away()
    server.kill()
    assert phone.faults == []
    assert 3 <= arrived <= 4
    kinds = [kind for (kind,) in server.rows("SELECT kind FROM batches_deed WHERE NOT set_aside")]
    after, weighed = dict(server.rows(ON_HAND)), dict(server.rows(WEIGHED_BY_DEEDS))
    taken = {lot: before[lot] - after[lot] for lot in after if before[lot] != after[lot]}
    assert (kinds.count("pour"), kinds.count("lye"), kinds.count("event")) == (1, 1, 1)
    assert kinds.count("weigh") == len(weighed) > 5
    assert taken == pytest.approx(weighed)
    assert server.rows(PHOTOS)[0][0] == photos + 2


def kill_at_the_fourth_deed(network: Network, server: DemoServer) -> threading.Event:
    """The server dies while the fourth deed is with it, which it may or may not have noted by then."""
    seen, dead = itertools.count(1), threading.Event()

    def told(piece: bytes) -> None:
        if DEED.match(piece) and next(seen) == 4:
            server.kill()
            dead.set()

    network.sent = told
    return dead


def test_the_same_pour_from_two_phones_counts_once(shop, live_server, running_chromium, tmp_path):
    batch, other = shop.plan(), UserFactory(name="Jonas")
    with network_to(live_server.url) as near, network_to(live_server.url) as far:
        first = Phone(running_chromium, tmp_path / "first", near)
        second = Phone(running_chromium, tmp_path / "second", far)
        for phone, user, network in [(first, shop.maker, near), (second, other, far)]:
            phone.sign_in(user)
            page = phone.open_bench(batch)
            network.cut()
            press(page, "As shown")
            kept_bench(page)
            weigh_rest(page)
            pour(page, f"Poured by {user}.")
        near.join()
        expect(main(first.page)).to_contain_text(IN_THE_BOOK)
        far.join()
        expect(heading(second.page)).to_have_text(f"{batch.code} is poured already")
        press(second.page, "Keep what I did in the record")

        expect(main(second.page)).to_contain_text(IN_THE_BOOK)
        assert (stock(shop), reconcile(), Cure.objects.count()) == (AFTER_ONE_POUR, [], 1)
        assert Deed.objects.filter(by=shop.maker, set_aside=False).count() == DEEDS
        assert Deed.objects.filter(by=other, set_aside=True).count() == DEEDS
        assert CureNote.objects.get().words == f"Poured by {shop.maker}."
        for phone in (first, second):
            phone.throw_away()
            assert phone.faults == []


def test_stock_that_went_meanwhile_is_said_and_another_lot_chosen(shop, network, new_phone):
    another = shop.lot("Olive oil")
    batch, phone = shop.plan(), new_phone(shop.maker)
    page = phone.open_bench(batch)
    network.cut()
    press(page, "As shown")
    kept_bench(page)
    weigh_rest(page)
    pour(page, "")
    spill(shop, "Olive oil", left=100)
    network.join()

    expect(heading(page)).to_have_text(f"{shop.lots['Olive oil'].code} holds less now")
    expect(main(page)).to_contain_text("can give 100\u00a0g Olive oil")
    page.get_by_role("button", name=re.compile(f"^It came out of {another.code}")).tap()

    expect(main(page)).to_contain_text(IN_THE_BOOK)
    assert stock(shop) == {**AFTER_ONE_POUR, "Olive oil": 100}
    assert Lot.objects.get(pk=another.pk).on_hand == 4550
    assert (Batch.objects.get().state, reconcile()) == (State.POURED, [])


def spill(shop: Bench, name: str, *, left: int) -> None:
    lot = Lot.objects.get(pk=shop.lots[name].pk)
    correct(lot=lot, counted=Decimal(left), reason="Spilt.", key=str(uuid4()), by=OwnerFactory())


@pytest.mark.parametrize("arrives", [True, False], ids=["arrived", "did not arrive"])
def test_a_form_in_flight_when_the_network_goes_counts_once(shop, network, new_phone, arrives):
    batch, phone = shop.plan(), new_phone(shop.maker)
    page = phone.open_bench(batch)
    if arrives:
        network.sent = lambda piece: network.cut() if FORM.match(piece) and network.is_up else None
    else:
        network.cut()
    press(page, "As shown")

    kept_bench(page)
    expect(heading(page)).to_have_text("Coconut oil")
    expect(bar(page)).to_contain_text("On this phone: 1 waiting")
    network.join()
    expect(bar(page)).to_have_text("There is network, and nothing waits.")
    page.get_by_role("link", name="Go on there").tap()
    expect(heading(page)).to_have_text("Coconut oil")
    weighing = Weighing.objects.get()
    assert (weighing.quantity, Deed.objects.get().key) == (450, weighing.key)


def test_a_form_that_gets_no_answer_is_kept_too(shop, network, new_phone, tmp_path):
    """As is a note with a photo from the page of events, sent by htmx."""
    batch, phone = shop.plan(), new_phone(shop.maker)
    page = phone.open_bench(batch)
    page.goto(on(batch, "events"))
    page.get_by_label("Note").fill("Smells of the sea.")
    page.get_by_label("Photo").set_input_files(photo(tmp_path))
    network.cut()
    network.stalls = True
    network.join()
    press(page, "Keep the note")

    kept_bench(page)
    network.cut()
    page.get_by_role("link", name="Log").tap()
    expect(main(page)).to_contain_text("Smells of the sea.")
    network.stalls = False
    network.join()
    expect(bar(page)).to_have_text("There is network, and nothing waits.")
    event = Event.objects.get()
    assert (event.words, event.photo is not None) == ("Smells of the sea.", True)


def test_a_bench_page_that_does_not_come_is_the_one_that_is_kept(shop, network, new_phone):
    batch, phone = shop.plan(), new_phone(shop.maker)
    page = phone.open_bench(batch)
    network.cut()
    network.stalls = True
    network.join()
    fourth = batch.lines.all()[3]
    page.goto(on(batch, "weigh", f"?line={fourth.pk}"))

    expect(page.locator("main[data-pocket]")).to_be_attached()
    expect(heading(page)).to_have_text("Castor oil")
    network.cut()
    page.goto(on(batch, "lye"))
    expect(heading(page)).to_have_text("Mix the lye")
    page.goto(on(batch, "events"))
    expect(heading(page)).to_have_text("What happens")


def test_signed_out_the_kept_bench_is_gone_and_what_waits_is_not(shop, network, new_phone):
    batch, phone = shop.plan(), new_phone(shop.maker)
    page = phone.open_bench(batch)
    network.cut()
    press(page, "As shown")
    kept_bench(page)
    spill(shop, "Olive oil", left=100)
    network.join()
    expect(bar(page)).to_contain_text("One needs your choice")
    phone.sign_out()
    page.wait_for_function("async () => !(await caches.has('pocket'))")
    network.cut()
    page.goto(on(batch, "weigh"))
    expect(main(page)).to_contain_text("Nothing is kept on this phone")

    network.join()
    phone.sign_in(shop.maker)
    page.goto(reverse("batches:rack"))
    page.get_by_role("link", name="On this phone: 1 waiting, one of them for you").tap()
    press(page, "Keep it in the record only")
    expect(bar(page)).to_have_text("There is network, and nothing waits.")
    assert (Deed.objects.get().set_aside, Weighing.objects.count()) == (True, 0)


def test_what_one_has_done_is_not_sent_by_another(shop, network, new_phone):
    batch, phone = shop.plan(), new_phone(shop.maker)
    page = phone.open_bench(batch)
    network.cut()
    press(page, "As shown")
    kept_bench(page)
    phone.sign_in(UserFactory(name="Jonas"))
    network.join()
    expect(bar(page)).to_contain_text(f"These were done by {shop.maker}")
    assert Deed.objects.count() == 0

    phone.sign_in(shop.maker)
    expect(bar(page)).to_have_text("There is network, and nothing waits.")
    assert (Deed.objects.get().by, Weighing.objects.get().by) == (shop.maker, shop.maker)


def test_what_cannot_be_read_is_said_and_nothing_is_weighed(shop, network, new_phone):
    batch, phone = shop.plan(), new_phone(shop.maker)
    page = phone.open_bench(batch)
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("three drops")
    network.cut()
    press(page, "Weighed")

    expect(main(page)).to_contain_text("What you sent last was not kept: This cannot be read as a quantity.")
    expect(heading(page)).to_have_text("Olive oil")
    page.get_by_role("link", name="Other weight").tap()
    page.get_by_label("The scale shows").fill("1 lb")
    press(page, "Weighed")
    expect(heading(page)).to_have_text("Coconut oil")
    press(page, "Undo Olive oil, 453.59\u00a0g")
    expect(heading(page)).to_have_text("Olive oil")
    press(page, "As shown")
    network.join()
    expect(bar(page)).to_have_text("There is network, and nothing waits.")
    assert Weighing.objects.get().quantity == 450
