"""What is due: pours to go on with, batches to cut, bars that come ready, stock that runs out or goes off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any, Generic, TypeVar

from django.db.models import Model, QuerySet

from batches.models import Batch, Cure
from batches.queries.pour import OpenPour, open_batches, open_pour
from batches.queries.rows import WEEK, CureRow, cure_row
from inventory.amounts import in_words
from inventory.models import Delivery, Lot, Material
from inventory.queries import expiring, low_stock
from recipes.models import Recipe
from soapshop.core.models import Workshop

T = TypeVar("T")
M = TypeVar("M", bound=Model)

MOST_ROWS = 4  # of one kind; the rest is on its own page


@dataclass(frozen=True, slots=True)
class Due(Generic[T]):
    """The first few of what is due, and whether there are more."""

    rows: tuple[T, ...]
    more: bool

    def __bool__(self) -> bool:
        return bool(self.rows)

    @property
    def count(self) -> str:
        """How many there are, as far as they were counted: '3', '4+'."""
        return f"{len(self.rows)}{'+' if self.more else ''}"


@dataclass(frozen=True, slots=True)
class LowRow:
    """A material at or below its reorder level, with both amounts in words."""

    material: Material
    left: str
    level: str


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot that goes off soon or has done so, with what it holds in words."""

    lot: Lot
    left: str
    expired: bool


@dataclass(frozen=True, slots=True)
class FirstSteps:
    """What a new workshop has done already, in the order in which it goes."""

    received: bool
    written: bool
    planned: bool


@dataclass(frozen=True, slots=True)
class Today:
    """`later` are the bars ready after `soon`. `first_steps` are there until the first batch is poured."""

    pours: Due[OpenPour]
    to_cut: Due[CureRow]
    ready: Due[CureRow]
    soon: Due[CureRow]
    low: Due[LowRow]
    expiring: Due[LotRow]
    later: Due[CureRow]
    first_steps: FirstSteps | None

    @property
    def on_the_bench(self) -> bool:
        """Whether any batch waits for something."""
        return any((self.pours, self.to_cut, self.ready, self.soon))


def today_at_work(day: date, workshop: Workshop) -> Today:
    """Everything that is due on a day. Eight queries, and three more until the first batch is poured."""
    cures = Cure.objects.filter(ended_at__isnull=True).select_related("batch")
    left = cures.filter(bars_left__gt=0).order_by("ready_on", "pk")
    to_cut = cures.filter(cut_on__isnull=True, started_on__lt=day).order_by("started_on", "pk")
    ready = left.filter(ready_on__gt=day - WEEK, ready_on__lte=day)
    soon = left.filter(ready_on__gt=day, ready_on__lte=day + WEEK)
    row = partial(cure_row, today=day)
    return Today(
        pours=_first(open_batches(), open_pour),
        to_cut=_first(to_cut, row),
        ready=_first(ready, row),
        soon=_first(soon, row),
        low=_first(low_stock(day), partial(_low_row, workshop=workshop)),
        expiring=_first(
            expiring(day, workshop.expiry_warning_days), partial(_lot_row, day=day, workshop=workshop)
        ),
        later=_first(left.filter(ready_on__gt=day + WEEK), row),
        first_steps=_first_steps(),
    )


def _first(found: QuerySet[M], row: Callable[[M], T]) -> Due[T]:
    held = list(found[: MOST_ROWS + 1])
    return Due(tuple(row(one) for one in held[:MOST_ROWS]), more=len(held) > MOST_ROWS)


def _low_row(material: Material, workshop: Workshop) -> LowRow:
    counted: Any = material
    return LowRow(
        material,
        left=in_words(counted.usable, material, workshop=workshop),
        level=in_words(counted.reorder_level, material, workshop=workshop),
    )


def _lot_row(lot: Lot, day: date, workshop: Workshop) -> LotRow:
    return LotRow(lot, in_words(lot.on_hand, lot.material, workshop=workshop), lot.expired_on(day))


def _first_steps() -> FirstSteps | None:
    if Cure.objects.exists():
        return None
    return FirstSteps(
        received=Delivery.objects.exists(),
        written=Recipe.objects.exists(),
        planned=Batch.objects.exists(),
    )
