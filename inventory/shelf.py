"""What of a material stands on the shelf, and its picture: the lots side by side in the order of use.

Pure arithmetic on lots that were fetched. The picture is `WIDTH` units wide; the page stretches it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.models import Kind, Lot, Material

WIDTH = 320
GAP = 2
NARROWEST = 3  # so that the last spoonful can still be seen
LEVELS_ACROSS = 3


@dataclass(frozen=True, slots=True)
class Segment:
    """One lot in the picture. `state` is 'good', 'soon' or 'expired'."""

    x: float
    width: float
    state: str


@dataclass(frozen=True, slots=True)
class Bar:
    """The lots, and where the reorder level stands; None without one."""

    segments: tuple[Segment, ...]
    level_x: float | None
    width: int = WIDTH


@dataclass(frozen=True, slots=True)
class Shelf:
    """The stock of one material on one day.

    `lots` are those that hold something in the order of use, the expired last; `usable` leaves those out,
    and `low` compares it with the reorder level. `due` is the lot whose best-before is past, or comes soonest
    within the days of warning.
    """

    material: Material
    lots: tuple[Lot, ...]
    on_hand: Decimal
    usable: Decimal
    low: bool
    due: Lot | None
    bar: Bar

    @property
    def kind(self) -> Kind:
        return Kind(self.material.kind)

    @property
    def first(self) -> Lot | None:
        """The lot to take from."""
        return self.lots[0] if self.usable else None


def look(material: Material, lots: Sequence[Lot], *, today: date, warn_days: int) -> Shelf:
    """The shelf as it stands. `lots` hold something and come in the order of use."""
    fresh = [lot for lot in lots if not lot.expired_on(today)]
    ordered = (*fresh, *(lot for lot in lots if lot.expired_on(today)))
    warn_by = today + timedelta(days=warn_days)
    due = [lot for lot in lots if lot.best_before and lot.best_before <= warn_by]
    usable = sum((lot.on_hand for lot in fresh), Decimal(0))
    return Shelf(
        material=material,
        lots=ordered,
        on_hand=sum((lot.on_hand for lot in lots), Decimal(0)),
        usable=usable,
        low=material.reorder_level is not None and usable <= material.reorder_level,
        due=due[0] if due else None,
        bar=draw(ordered, material.reorder_level, today=today, warn_by=warn_by),
    )


def draw(lots: Sequence[Lot], reorder_level: Decimal | None, *, today: date, warn_by: date) -> Bar:
    """Lay the lots out from the left.

    The full width is three times the reorder level, or the stock where that is more. Without a level it is
    what the lots held when they came, so that the picture shows how much of them is left.
    """
    total = sum((lot.on_hand for lot in lots), Decimal(0))
    came = sum((lot.quantity for lot in lots), Decimal(0))
    full = max(total, LEVELS_ACROSS * reorder_level if reorder_level else came)
    if not full:
        return Bar((), None)
    scale = WIDTH / float(full)
    segments, x = [], 0.0
    for lot in lots:
        width = float(lot.on_hand) * scale
        segments.append(
            Segment(round(x, 1), round(max(width - GAP, NARROWEST), 1), _state(lot, today, warn_by))
        )
        x += width
    return Bar(tuple(segments), round(float(reorder_level) * scale, 1) if reorder_level else None)


def _state(lot: Lot, today: date, warn_by: date) -> str:
    if lot.expired_on(today):
        return "expired"
    return "soon" if lot.expired_on(warn_by + timedelta(days=1)) else "good"
