"""After any sequence of deliveries, takes, reversals and corrections the books are right."""

from __future__ import annotations

from decimal import Decimal
from itertools import count
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    invariant,
    multiple,
    rule,
    run_state_machine_as_test,
)

from inventory.models import Lot, Movement
from inventory.services import ledger
from inventory.services.made import make_lot, unmake_lot
from inventory.services.receiving import ReceivedLine, receive
from inventory.services.reconcile import reconcile
from tests.factories import MaterialFactory, SupplierFactory, UserFactory

grams = st.decimals(min_value="0.01", max_value=9000, places=2)


class StockMachine(RuleBasedStateMachine):
    """Does at random what a workshop does, and keeps its own plain account of every lot beside it."""

    lots = Bundle("lots")
    movements = Bundle("movements")

    def __init__(self) -> None:
        super().__init__()
        self.undo = transaction.atomic()
        self.undo.__enter__()
        self.by, self.supplier, self.material = UserFactory(), SupplierFactory(), MaterialFactory()
        self.account: dict[int, Decimal] = {}
        self.keys = count()

    def teardown(self) -> None:
        """Leave nothing for the next run."""
        transaction.set_rollback(True)
        self.undo.__exit__(None, None, None)

    def key(self) -> str:
        return f"deed {next(self.keys)}"

    @rule(target=lots, quantities=st.lists(grams, min_size=1, max_size=3))
    def deliver(self, quantities: list[Decimal]) -> object:
        lines = [ReceivedLine(material=self.material, quantity=each, cost=Decimal(1)) for each in quantities]
        key, day = uuid4(), timezone.localdate()
        delivery = receive(supplier=self.supplier, received_on=day, lines=lines, key=key, by=self.by)
        assert receive(supplier=self.supplier, received_on=day, lines=lines, key=key, by=self.by) == delivery
        lots = list(delivery.lots.order_by("pk"))
        self.account |= {lot.pk: quantity for lot, quantity in zip(lots, quantities, strict=True)}
        return multiple(*lots)

    @rule(target=movements, lot=lots, quantity=grams, kind=st.sampled_from(["poured", "wasted"]))
    def take(self, lot: Lot, quantity: Decimal, kind: str) -> object:
        key = self.key()
        deed = {
            "lot": lot,
            "quantity": quantity,
            "kind": Movement.Kind(kind),
            "reason": "a reason",
            "by": self.by,
        }
        try:
            movement = ledger.take(key=key, **deed)
        except ledger.NotEnough:
            assert quantity > self.account[lot.pk]
            return multiple()
        assert ledger.take(key=key, **deed) == movement
        self.account[lot.pk] -= quantity
        return movement

    @rule(lot=lots, other=lots, quantity=grams)
    def take_from_two(self, lot: Lot, other: Lot, quantity: Decimal) -> None:
        takings = [ledger.Taking(each, quantity, self.key()) for each in (lot, other)]
        wanted = dict.fromkeys([lot.pk, other.pk], quantity) if lot != other else {lot.pk: 2 * quantity}
        try:
            ledger.take_all(takings=takings, kind=Movement.Kind.POURED, by=self.by)
        except ledger.NotEnough:
            assert any(self.account[pk] < amount for pk, amount in wanted.items())
        else:
            for pk, amount in wanted.items():
                self.account[pk] -= amount

    @rule(target=movements, lot=lots, counted=st.decimals(min_value=0, max_value=9000, places=2))
    def correct(self, lot: Lot, counted: Decimal) -> object:
        movement = ledger.correct(lot=lot, counted=counted, reason="weighed", key=self.key(), by=self.by)
        assert (movement is None) == (counted == self.account[lot.pk])
        self.account[lot.pk] = counted
        return movement if movement else multiple()

    @rule(target=lots, part=lots, quantity=grams, held=grams)
    def make(self, part: Lot, quantity: Decimal, held: Decimal) -> Lot:
        deed = {
            "material": self.material,
            "quantity": quantity,
            "parts": [(part, held)],
            "cost": Decimal(1),
            "key": self.key(),
            "by": self.by,
            "at": timezone.now(),
        }
        lot = make_lot(**deed)
        assert make_lot(**deed) == lot
        self.account[lot.pk] = quantity
        return lot

    @rule(lot=lots)
    def unmake(self, lot: Lot) -> None:
        try:
            unmake_lot(lot=lot, reason="a slip", by=self.by)
        except ledger.NotReversible:
            return
        unmake_lot(lot=lot, reason="a slip", by=self.by)
        taken_back = lot.movements.get(kind=Movement.Kind.MADE).reversed_by
        later = lot.movements.filter(pk__gt=taken_back.pk)
        self.account[lot.pk] = sum((each.quantity for each in later), Decimal(0))

    @rule(movement=consumes(movements))
    def reverse(self, movement: Movement) -> None:
        deed = {
            "movement": movement,
            "reason": "a slip",
            "key": self.key(),
            "by": self.by,
            "through_batch": True,
        }
        try:
            back = ledger.reverse(**deed)
        except ledger.NotEnough:
            assert self.account[movement.lot_id] < movement.quantity
            return
        assert ledger.reverse(**deed) == back
        self.account[movement.lot_id] -= movement.quantity
        try:
            ledger.reverse(**{**deed, "key": self.key()})
        except ledger.NotReversible:
            return
        raise AssertionError("it was reversed twice")

    @rule(lot=lots, quantity=st.sampled_from(["0", "-1", "NaN", "Infinity", "1e15"]))
    def take_nonsense(self, lot: Lot, quantity: str) -> None:
        try:
            ledger.take(
                lot=lot,
                quantity=Decimal(quantity),
                kind=Movement.Kind.WASTED,
                reason="?",
                key="x",
                by=self.by,
            )
        except ValidationError:
            return
        raise AssertionError(f"{quantity} was taken")

    @invariant()
    def every_balance_is_the_sum_of_its_movements(self) -> None:
        assert reconcile() == []

    @invariant()
    def every_balance_is_what_the_plain_account_says_and_none_is_below_zero(self) -> None:
        balances = dict(Lot.objects.values_list("pk", "on_hand"))
        assert balances == self.account
        assert all(balance >= 0 for balance in balances.values())


@pytest.mark.django_db
def test_the_books_are_right_after_any_sequence_of_deeds():
    often = settings(
        max_examples=15, stateful_step_count=20, deadline=None, suppress_health_check=list(HealthCheck)
    )
    run_state_machine_as_test(StockMachine, settings=often)
