"""Money: what a batch cost, what a bar cost, and which lots the grams come from. Decimal throughout."""

from collections.abc import Iterable
from decimal import Decimal
from typing import TypeVar

Lot = TypeVar("Lot")

_NOTHING = Decimal(0)


def cost_of(lines: Iterable[tuple[Decimal, Decimal]]) -> Decimal:
    """Cost of lines of (grams, cost of one gram), or (pieces, cost of one piece). Not rounded.

    Raises ValueError for a negative or non-finite figure.
    """
    total = _NOTHING
    for quantity, unit_cost in lines:
        total += _amount(quantity) * _amount(unit_cost)
    return total


def cost_per_bar(total: Decimal, bars: int) -> Decimal:
    """Cost of one bar that can be sold. Not rounded. Raises ValueError without a bar to bear the cost."""
    if bars < 1:
        raise ValueError("There must be at least one bar to share the cost.")
    return _amount(total) / bars


def fifo(lots: Iterable[tuple[Lot, Decimal]], grams: Decimal) -> tuple[list[tuple[Lot, Decimal]], Decimal]:
    """Take ``grams`` from lots of (lot, grams on hand) in the order given.

    Returns the lots used with what each gives, and the grams still missing. Raises ValueError for a
    negative or non-finite figure.
    """
    missing = _amount(grams)
    taken = []
    for lot, on_hand in lots:
        take = min(_amount(on_hand), missing)
        if take > 0:
            taken.append((lot, take))
            missing -= take
    return taken, missing


def _amount(value: Decimal) -> Decimal:
    if not value.is_finite() or value < 0:
        raise ValueError(f"Not an amount: {value}")
    return value
