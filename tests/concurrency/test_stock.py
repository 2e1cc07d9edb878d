"""Two people at the same shelf, each over a database connection of their own.

Runs on SQLite's file, and on PostgreSQL by test_on_postgres.py.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from threading import Barrier
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.models import Delivery, Lot, Movement
from inventory.services import ledger
from inventory.services.ledger import NotEnough, NotReversible, Taking
from inventory.services.receiving import ReceivedLine, receive
from inventory.services.reconcile import reconcile
from soapshop.core.models import User
from tests.concurrency.together import at_once
from tests.factories import LotFactory, MaterialFactory, SupplierFactory, UserFactory, WorkshopFactory

pytestmark = pytest.mark.django_db(transaction=True)

POURED = Movement.Kind.POURED
LAST = Decimal(500)
Take = Callable[[Lot, User], object]


def two_take_the_last(take: Take) -> list[object]:
    """What each of two people gets who take the last 500 g of a lot at the same moment."""
    lot, people = LotFactory(quantity=LAST), [UserFactory(), UserFactory()]
    return at_once([lambda by=by: take(lot, by) for by in people])


def take_by_the_ledger(lot: Lot, by: User) -> Movement:
    return ledger.take(lot=lot, quantity=LAST, kind=POURED, key=f"{by}", by=by)


def unguarded(meeting: Barrier) -> Take:
    """Reads, waits until the other has read as well, then writes what it reckoned: the guard is off."""

    def take(lot: Lot, by: User) -> Movement:
        on_hand = Lot.objects.get(pk=lot.pk).on_hand
        meeting.wait(timeout=20)
        if on_hand < LAST:
            raise NotEnough(lot, LAST, on_hand)
        with transaction.atomic():
            Lot.objects.filter(pk=lot.pk).update(on_hand=on_hand - LAST)
            return Movement.objects.create(lot=lot, quantity=-LAST, kind=POURED, key=f"{by}", by=by)

    return take


def test_two_take_the_last_500_grams_and_one_is_told():
    outcomes = two_take_the_last(take_by_the_ledger)
    assert sorted(type(outcome).__name__ for outcome in outcomes) == ["Movement", "NotEnough"]
    assert Lot.objects.get().on_hand == 0
    assert reconcile() == []


def test_without_the_guard_both_would_get_them():
    """The control: the same race, lost by code that trusts what it read."""
    outcomes = two_take_the_last(unguarded(Barrier(2)))
    assert [type(outcome).__name__ for outcome in outcomes] == ["Movement", "Movement"]
    assert [(wrong.on_hand, wrong.moved) for wrong in reconcile()] == [(0, -500)]


def test_one_deed_sent_by_four_at_once_counts_once():
    lot, by = LotFactory(quantity=5000), UserFactory()

    def take() -> Movement:
        return ledger.take(lot=lot, quantity=LAST, kind=POURED, key="the pour", by=by)

    outcomes = at_once([take] * 4)
    assert len({outcome.pk for outcome in outcomes}) == 1  # type: ignore[attr-defined]
    assert Lot.objects.get().on_hand == 4500


def test_pours_that_take_the_same_lots_in_opposite_order_do_not_wait_for_each_other():
    lots, by = [LotFactory(quantity=5000) for _ in range(4)], UserFactory()

    def pour(name: str, order: list[Lot]) -> Callable[[], object]:
        takings = [Taking(lot, Decimal(100), f"{name} {lot.pk}") for lot in order]
        return lambda: ledger.take_all(takings=takings, kind=POURED, by=by)

    at_once([pour(f"pour {n}", lots if n % 2 else lots[::-1]) for n in range(6)])
    assert {lot.on_hand for lot in Lot.objects.all()} == {Decimal(4400)}
    assert reconcile() == []


def test_a_movement_reversed_by_two_at_once_is_reversed_once():
    lot, people = LotFactory(quantity=1000), [UserFactory(), UserFactory()]
    spill = ledger.discard(lot=lot, quantity=LAST, reason="spilled", key="spill", by=people[0])

    def reverse(by: User) -> Callable[[], object]:
        return lambda: ledger.reverse(movement=spill, reason="no", key=f"back {by}", by=by)

    outcomes = at_once([reverse(by) for by in people])
    assert sorted(type(outcome).__name__ for outcome in outcomes) == ["Movement", NotReversible.__name__]
    assert Lot.objects.get().on_hand == 1000


def test_a_correction_and_a_pour_at_once_both_count():
    lot, by = LotFactory(quantity=1000), UserFactory()
    outcomes = at_once(
        [
            lambda: ledger.correct(lot=lot, counted=Decimal(900), reason="weighed", key="c", by=by),
            lambda: ledger.take(lot=lot, quantity=LAST, kind=POURED, key="p", by=by),
        ]
    )
    assert not any(isinstance(outcome, ValidationError) for outcome in outcomes)
    assert Lot.objects.get().on_hand in {Decimal(400), Decimal(900)}  # whichever came last
    assert reconcile() == []


def test_deliveries_received_at_once_are_given_codes_of_their_own():
    WorkshopFactory()
    supplier, material, by = SupplierFactory(), MaterialFactory(name="Coconut oil"), UserFactory()
    lines = [ReceivedLine(material=material, quantity=Decimal(1000), cost=Decimal(5))] * 2

    def bring() -> Delivery:
        return receive(supplier=supplier, received_on=timezone.localdate(), lines=lines, key=uuid4(), by=by)

    at_once([bring] * 4)
    assert sorted(Lot.objects.values_list("code", flat=True)) == [f"CO-{n:04d}" for n in range(1, 9)]


def test_one_delivery_sent_by_four_at_once_comes_once():
    WorkshopFactory()
    supplier, material, by, key = SupplierFactory(), MaterialFactory(), UserFactory(), uuid4()
    lines = [ReceivedLine(material=material, quantity=Decimal(1000), cost=Decimal(5))]

    def bring() -> Delivery:
        return receive(supplier=supplier, received_on=timezone.localdate(), lines=lines, key=key, by=by)

    assert len({delivery.pk for delivery in at_once([bring] * 4)}) == 1  # type: ignore[attr-defined]
    assert Lot.objects.get().on_hand == 1000
