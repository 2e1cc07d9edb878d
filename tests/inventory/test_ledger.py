"""The ledger: stock changes only together with its movement, never twice, never below zero."""

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction

from inventory.models import Lot, Movement
from inventory.services import ledger
from inventory.services.ledger import NotEnough, NotReversible, Taking
from inventory.services.reconcile import reconcile
from tests.factories import LotFactory, MaterialFactory

pytestmark = pytest.mark.django_db
POURED, CORRECTED = Movement.Kind.POURED, Movement.Kind.CORRECTED


def on_hand(lot):
    return Lot.objects.get(pk=lot.pk).on_hand


def take(lot, quantity, by, key="pour 1", **kwargs):
    return ledger.take(
        lot=lot, quantity=Decimal(quantity), kind=POURED, document="26-0001", key=key, by=by, **kwargs
    )


def test_a_lot_holds_what_was_received(maker):
    lot = LotFactory(quantity=5000)
    assert on_hand(lot) == 5000
    assert [(m.kind, m.quantity) for m in lot.movements.all()] == [("received", 5000)]


def test_taking_lowers_the_stock_and_writes_who_what_and_for_which_batch(maker):
    lot = LotFactory(quantity=5000)
    movement = take(lot, "1268.5", maker)
    assert on_hand(lot) == Decimal("3731.50")
    movement.refresh_from_db()
    assert (movement.quantity, movement.by, movement.document) == (Decimal("-1268.50"), maker, "26-0001")


def test_the_last_gram_can_be_taken(maker):
    lot = LotFactory(quantity=500)
    take(lot, 500, maker)
    assert on_hand(lot) == 0


def test_hundredths_do_not_drift_and_the_last_of_them_can_be_taken(maker):
    lot = LotFactory(quantity="0.30")
    for n in range(30):
        take(lot, "0.01", maker, key=f"pinch {n}")
    assert on_hand(lot) == 0
    assert reconcile() == []


def test_more_than_is_there_is_refused_with_what_is_short(maker):
    lot = LotFactory(quantity=500, material=MaterialFactory(name="Coconut oil"))
    with pytest.raises(NotEnough) as refused:
        take(lot, 868, maker)
    message = refused.value.messages[0]
    assert "Coconut oil" in message
    assert "368" in message
    assert (refused.value.wanted, refused.value.on_hand) == (868, 500)
    assert on_hand(lot) == 500
    assert not Movement.objects.filter(kind=POURED).exists()


def test_pieces_are_told_as_pieces(maker):
    lot = LotFactory(quantity=1500, material=MaterialFactory(packaging=True))
    with pytest.raises(NotEnough) as refused:
        take(lot, 2700, maker)
    assert "1\N{NARROW NO-BREAK SPACE}200\N{NO-BREAK SPACE}pieces short" in refused.value.messages[0]


def test_the_same_deed_sent_twice_counts_once(maker):
    lot = LotFactory(quantity=5000)
    first, second = take(lot, 1000, maker), take(lot, 1000, maker)
    assert first == second
    assert on_hand(lot) == 4000


@pytest.mark.parametrize("quantity", ["0", "-5", "0.001", "NaN", "Infinity", "-Infinity", "1e12"])
def test_what_is_no_amount_is_refused(maker, quantity):
    lot = LotFactory(quantity=5000)
    with pytest.raises(ValidationError):
        take(lot, quantity, maker)
    assert on_hand(lot) == 5000


def test_a_viewer_takes_nothing(viewer):
    lot = LotFactory()
    with pytest.raises(PermissionDenied):
        take(lot, 10, viewer)
    assert on_hand(lot) == 5000


def test_several_lots_are_taken_all_or_none(maker):
    full, nearly_empty = LotFactory(quantity=5000), LotFactory(quantity=100)
    takings = [Taking(full, Decimal(300), "a"), Taking(nearly_empty, Decimal(101), "b")]
    with pytest.raises(NotEnough):
        ledger.take_all(takings=takings, kind=POURED, by=maker)
    assert (on_hand(full), on_hand(nearly_empty)) == (5000, 100)


def test_one_lot_may_be_taken_from_twice_in_one_pour(maker):
    lot = LotFactory(quantity=1000)
    takings = [Taking(lot, Decimal(600), "a"), Taking(lot, Decimal(400), "b")]
    movements = ledger.take_all(takings=takings, kind=POURED, by=maker, document="26-0002")
    assert [m.quantity for m in movements] == [-600, -400]
    assert on_hand(lot) == 0


def test_taking_many_lots_costs_one_query_for_each_and_a_few_for_all(maker, django_assert_max_num_queries):
    takings = [Taking(LotFactory(), Decimal(10), f"key {n}") for n in range(20)]
    with django_assert_max_num_queries(20 + 6):
        ledger.take_all(takings=takings, kind=POURED, by=maker)


def test_giving_raises_the_stock_once(maker):
    lot = LotFactory(quantity=100)
    for _ in range(2):
        ledger.give(
            lot=lot, quantity=Decimal(50), kind=CORRECTED, key="found", by=maker, reason="found a jug"
        )
    assert on_hand(lot) == 150


@pytest.mark.parametrize(("counted", "difference"), [(4800, -200), (5120, 120), (0, -5000)])
def test_correcting_sets_the_stock_to_what_the_scale_shows(maker, counted, difference):
    lot = LotFactory(quantity=5000)
    movement = ledger.correct(lot=lot, counted=Decimal(counted), reason="weighed again", key="c", by=maker)
    assert on_hand(lot) == counted
    assert movement.quantity == difference


def test_correcting_twice_by_one_key_counts_once(maker):
    lot = LotFactory(quantity=5000)
    ledger.correct(lot=lot, counted=Decimal(4800), reason="weighed", key="c", by=maker)
    take(lot, 800, maker)
    ledger.correct(lot=lot, counted=Decimal(4800), reason="weighed", key="c", by=maker)
    assert on_hand(lot) == 4000


def test_correcting_what_is_right_writes_nothing(maker):
    lot = LotFactory(quantity=5000)
    assert ledger.correct(lot=lot, counted=Decimal(5000), reason="weighed", key="c", by=maker) is None
    assert lot.movements.count() == 1


@pytest.mark.parametrize("reason", ["", "   "])
def test_nothing_is_corrected_discarded_or_reversed_without_a_reason(maker, reason):
    lot = LotFactory(quantity=5000)
    received = lot.movements.get()
    with pytest.raises(ValidationError):
        ledger.correct(lot=lot, counted=Decimal(1), reason=reason, key="c", by=maker)
    with pytest.raises(ValidationError):
        ledger.discard(lot=lot, quantity=Decimal(1), reason=reason, key="d", by=maker)
    with pytest.raises(ValidationError):
        ledger.reverse(movement=received, reason=reason, key="r", by=maker)
    assert on_hand(lot) == 5000


def test_discarding_writes_the_reason(maker):
    lot = LotFactory(quantity=5000)
    movement = ledger.discard(lot=lot, quantity=Decimal(250), reason=" spilled ", key="d", by=maker)
    assert (movement.kind, movement.quantity, movement.reason) == ("wasted", -250, "spilled")
    assert on_hand(lot) == 4750


def test_reversing_books_the_opposite_and_names_its_origin(maker):
    lot = LotFactory(quantity=5000)
    spill = ledger.discard(lot=lot, quantity=Decimal(250), reason="spilled", key="d", by=maker)
    back = ledger.reverse(movement=spill, reason="it was water", key="r", by=maker)
    assert (back.kind, back.quantity, back.reverses) == ("reversed", 250, spill)
    assert on_hand(lot) == 5000


def test_reversing_twice_by_one_key_counts_once(maker):
    lot = LotFactory(quantity=5000)
    spill = ledger.discard(lot=lot, quantity=Decimal(250), reason="spilled", key="d", by=maker)
    first = ledger.reverse(movement=spill, reason="no", key="r", by=maker)
    assert ledger.reverse(movement=spill, reason="no", key="r", by=maker) == first
    assert on_hand(lot) == 5000


def test_a_movement_is_reversed_only_once(maker):
    lot = LotFactory(quantity=5000)
    spill = ledger.discard(lot=lot, quantity=Decimal(250), reason="spilled", key="d", by=maker)
    ledger.reverse(movement=spill, reason="no", key="r", by=maker)
    with pytest.raises(NotReversible, match="already"):
        ledger.reverse(movement=spill, reason="no", key="another", by=maker)
    assert on_hand(lot) == 5000


def test_a_reversal_is_not_reversed(maker):
    lot = LotFactory(quantity=5000)
    spill = ledger.discard(lot=lot, quantity=Decimal(250), reason="spilled", key="d", by=maker)
    back = ledger.reverse(movement=spill, reason="no", key="r", by=maker)
    with pytest.raises(NotReversible, match="correction"):
        ledger.reverse(movement=back, reason="yes", key="rr", by=maker)


def test_what_a_batch_took_comes_back_only_through_the_batch(maker):
    lot = LotFactory(quantity=5000)
    movement = take(lot, 1000, maker)
    with pytest.raises(NotReversible, match="26-0001"):
        ledger.reverse(movement=movement, reason="oops", key="r", by=maker)
    assert on_hand(lot) == 4000
    back = ledger.reverse(movement=movement, reason="oops", key="r", by=maker, through_batch=True)
    assert back.document == "26-0001"
    assert on_hand(lot) == 5000


def test_a_whole_batch_is_given_back_once(maker):
    lots = [LotFactory(quantity=1000) for _ in range(3)]
    takings = [Taking(lot, Decimal(100), f"t {lot.pk}") for lot in reversed(lots)]
    movements = ledger.take_all(takings=takings, kind=POURED, by=maker)
    for _ in range(2):
        ledger.reverse_all(movements=movements, reason="wrong mould", by=maker)
    assert [on_hand(lot) for lot in lots] == [1000] * 3


def test_a_delivery_that_was_used_cannot_be_taken_back(maker):
    lot = LotFactory(quantity=5000)
    take(lot, 1, maker)
    with pytest.raises(NotEnough):
        ledger.reverse(movement=lot.movements.get(kind="received"), reason="wrong drum", key="r", by=maker)
    assert on_hand(lot) == 4999


def test_movements_are_neither_edited_nor_deleted(maker):
    LotFactory()
    with pytest.raises(TypeError, match="reverse it"):
        Movement.objects.update(quantity=1)
    with pytest.raises(TypeError, match="reverse it"):
        Movement.objects.all().delete()


def test_the_database_itself_refuses_less_than_nothing(maker):
    lot = LotFactory(quantity=10)
    with pytest.raises(IntegrityError), transaction.atomic():
        Lot.objects.filter(pk=lot.pk).update(on_hand=-1)


def test_reconcile_finds_a_balance_that_was_tampered_with(maker):
    good, bad = LotFactory(quantity=10), LotFactory(quantity=20)
    assert reconcile() == []
    Lot.objects.filter(pk=bad.pk).update(on_hand=21)
    [found] = reconcile()
    assert (found.code, found.on_hand, found.moved) == (bad.code, 21, 20)
    assert found.code != good.code
