"""Deeds that arrive at the same moment, each over a database connection of its own."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from threading import Barrier
from uuid import UUID, uuid4

import pytest
from django.utils import timezone

from batches.models import Batch, Cure, Deed, Line, Weighing
from batches.services.conflicts import Held
from batches.services.deeds import Result, receive
from batches.services.told import Add, Content, Count, Pour, Told, Undo, Weigh
from inventory.models import Lot
from inventory.services.reconcile import reconcile
from soapshop.core.models import User
from tests.batches.bench import Bench, bench
from tests.concurrency.together import at_once
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db(transaction=True)

OLIVE = "Olive oil"
Send = Callable[[], object]


def sending(batch: Batch, content: Content, by: User, key: UUID | None = None) -> Send:
    """Sends a deed, and gives what became of it or the conflict that it met."""
    told = Told(key or uuid4(), timezone.now(), content)

    def send() -> object:
        try:
            return receive(batch=batch, told=told, by=by)
        except Held as held:
            return held

    return send


def olive(shop: Bench, batch: Batch) -> Weigh:
    line = batch.lines.get(material__name=OLIVE)
    return Weigh(line.pk, shop.lots[OLIVE].pk, Decimal(450))


def weigh_all(shop: Bench, batch: Batch) -> None:
    for line in batch.lines.select_related("material"):
        lot = shop.lots[line.material.name]
        told = Told(uuid4(), timezone.now(), Weigh(line.pk, lot.pk, line.planned))
        receive(batch=batch, told=told, by=shop.maker)


def unguarded(meeting: Barrier, told: Told, batch: Batch, lot: Lot, line: Line, by: User) -> Send:
    """Looks whether the deed is known, waits until the other has looked as well, then does it."""

    def send() -> object:
        known = Deed.objects.filter(key=told.key).exists()
        meeting.wait(timeout=20)
        if known:
            return Result.ALREADY
        Weighing.objects.create(line=line, lot=lot, quantity=Decimal(450), key=uuid4(), by=by)
        return Result.DONE

    return send


def test_one_deed_sent_by_four_at_once_counts_once():
    shop, key = bench(), uuid4()
    batch = shop.plan()
    content = olive(shop, batch)

    outcomes = at_once([sending(batch, content, shop.maker, key)] * 4)

    assert sorted(map(str, outcomes)) == ["already", "already", "already", "done"]
    assert Weighing.objects.get().quantity == 450
    assert Deed.objects.count() == 1


def test_without_the_guard_it_would_count_twice():
    """The control: the same race, lost by code that trusts what it read."""
    shop = bench()
    batch = shop.plan()
    line = batch.lines.get(material__name=OLIVE)
    told, meeting = Told(uuid4(), timezone.now(), olive(shop, batch)), Barrier(2)

    outcomes = at_once([unguarded(meeting, told, batch, shop.lots[OLIVE], line, shop.maker)] * 2)

    assert outcomes == [Result.DONE, Result.DONE]
    assert Weighing.objects.count() == 2


def test_an_addition_sent_by_four_at_once_counts_once():
    shop, key = bench(), uuid4()
    batch = shop.plan()
    weigh_all(shop, batch)

    at_once([sending(batch, Add(shop.lots[OLIVE].pk, Decimal(30)), shop.maker, key)] * 4)

    weighed = Weighing.objects.filter(lot=shop.lots[OLIVE])
    assert sorted(weighed.values_list("quantity", flat=True)) == [30, 450]


def test_two_phones_weigh_one_line_at_once_and_one_is_asked():
    shop = bench()
    batch = shop.plan()
    content = olive(shop, batch)

    outcomes = at_once([sending(batch, content, by) for by in (shop.maker, UserFactory())])

    assert {type(outcome) for outcome in outcomes} == {Result, Held}
    assert Weighing.objects.count() == 1


def test_a_pour_sent_from_one_phone_four_times_at_once_is_poured_once():
    shop, key = bench(), uuid4()
    batch = shop.plan()
    weigh_all(shop, batch)

    outcomes = at_once([sending(batch, Pour(), shop.maker, key)] * 4)

    assert sorted(map(str, outcomes)) == ["already", "already", "already", "done"]
    assert shop.on_hand(OLIVE) == 4550
    assert Cure.objects.count() == 1
    assert reconcile() == []


def test_a_batch_poured_from_two_phones_at_once_is_poured_once_and_one_is_asked():
    shop = bench()
    batch = shop.plan()
    weigh_all(shop, batch)

    outcomes = at_once([sending(batch, Pour(), by) for by in (shop.maker, UserFactory())])

    [held] = [outcome for outcome in outcomes if isinstance(outcome, Held)]
    assert held.title == f"{batch} is poured already"
    assert outcomes.count(Result.DONE) == 1
    assert shop.on_hand(OLIVE) == 4550
    assert Cure.objects.count() == 1


def test_two_batches_poured_at_once_out_of_a_lot_that_holds_one_and_one_is_asked():
    shop = bench(quantity=500)  # a pour takes 450 g of it
    batches = [shop.plan(), shop.plan()]
    for batch in batches:
        weigh_all(shop, batch)

    outcomes = at_once([sending(batch, Pour(), shop.maker) for batch in batches])

    [held] = [outcome for outcome in outcomes if isinstance(outcome, Held)]
    assert held.title == f"{shop.lots[OLIVE].code} holds less now"
    assert outcomes.count(Result.DONE) == 1
    assert shop.on_hand(OLIVE) == 50
    assert reconcile() == []


def test_a_weight_taken_back_while_it_is_poured_is_in_the_pour_or_not_at_all():
    shop, key = bench(), uuid4()
    batch = shop.plan()
    weigh_all(shop, batch)
    Weighing.objects.filter(lot=shop.lots[OLIVE]).update(key=key)

    outcomes = at_once([sending(batch, Pour(), shop.maker), sending(batch, Undo(key), UserFactory())])

    assert {type(outcome) for outcome in outcomes} == {Result, Held}
    batch.refresh_from_db()
    assert shop.on_hand(OLIVE) == (5000 if batch.is_open else 4550)
    assert reconcile() == []


def test_two_phones_count_one_lot_at_once_and_it_holds_the_larger():
    shop = bench(quantity=500)
    batch, lot = shop.plan(), shop.lots[OLIVE]

    at_once([sending(batch, Count(lot.pk, Decimal(grams)), shop.maker) for grams in (650, 600)])

    assert shop.on_hand(OLIVE) == 650
    assert reconcile() == []
