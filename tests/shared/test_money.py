from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.money import cost_of, cost_per_bar, fifo

GRAMS = st.decimals(0, 10_000, places=1)
LOTS = st.lists(GRAMS, max_size=6)
NONSENSE = [Decimal("-0.01"), Decimal("NaN"), Decimal("Infinity")]


def test_cost_adds_up_without_rounding() -> None:
    lines = [(Decimal("450.5"), Decimal("0.0123")), (Decimal("250"), Decimal("0.0041"))]
    assert cost_of(lines) == Decimal("6.56615")


def test_nothing_costs_nothing() -> None:
    assert cost_of([]) == 0


def test_the_cost_is_shared_by_the_bars_that_can_be_sold() -> None:
    assert cost_per_bar(Decimal("58.88"), 32) == Decimal("1.84")


@pytest.mark.parametrize("bars", [0, -3])
def test_without_a_bar_there_is_no_cost_a_bar(bars: int) -> None:
    with pytest.raises(ValueError, match="at least one bar"):
        cost_per_bar(Decimal(10), bars)


@pytest.mark.parametrize("value", NONSENSE)
def test_impossible_amounts_are_refused(value: Decimal) -> None:
    with pytest.raises(ValueError, match="Not an amount"):
        cost_of([(value, Decimal(1))])
    with pytest.raises(ValueError, match="Not an amount"):
        cost_of([(Decimal(1), value)])
    with pytest.raises(ValueError, match="Not an amount"):
        cost_per_bar(value, 1)
    with pytest.raises(ValueError, match="Not an amount"):
        fifo([("A", value)], Decimal(1))
    with pytest.raises(ValueError, match="Not an amount"):
        fifo([], value)


def test_lots_are_used_up_in_their_order() -> None:
    lots = [("A", Decimal(300)), ("B", Decimal(0)), ("C", Decimal(500)), ("D", Decimal(500))]
    assert fifo(lots, Decimal(450)) == ([("A", Decimal(300)), ("C", Decimal(150))], Decimal(0))


def test_what_the_lots_lack_is_told() -> None:
    assert fifo([("A", Decimal(300))], Decimal(450)) == ([("A", Decimal(300))], Decimal(150))


@given(LOTS, GRAMS)
def test_what_is_taken_and_what_is_missing_make_what_was_asked(
    on_hand: list[Decimal], grams: Decimal
) -> None:
    taken, missing = fifo(enumerate(on_hand), grams)
    assert sum((take for _, take in taken), Decimal(0)) + missing == grams
    assert all(0 < take <= on_hand[lot] for lot, take in taken)
    assert [lot for lot, _ in taken] == sorted(lot for lot, _ in taken)
    assert missing == max(grams - sum(on_hand, Decimal(0)), Decimal(0))
