"""Today: pours to go on with, what the rack asks for, bars that come ready, stock to look after."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any, Generic, TypeVar

from batches.models import Batch, Cure
from batches.queries.due import Due as DueTask
from batches.queries.due import OnRack, Task, on_the_rack
from batches.queries.picture import Picture, picture_of
from batches.queries.pour import OpenPour, open_batches, open_pour
from batches.queries.rows import WEEK, CureRow, cure_row
from inventory.amounts import in_words
from inventory.models import Delivery, Lot, Material
from inventory.queries import expiring, low_stock
from recipes.models import Recipe
from soapshop.core.models import Workshop

T = TypeVar("T")
Tasks = tuple[OnRack, tuple[DueTask, ...]]

MOST_ROWS = 4  # of one kind; the rest is on its own page
MOST_TASKS = 12  # batches with something to do


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
class TaskRow:
    """A batch on the rack with all that is to be done with it, the most pressing in front."""

    cure: Cure
    picture: Picture
    tasks: tuple[DueTask, ...]
    day: date

    @property
    def main(self) -> DueTask:
        return self.tasks[0]

    @property
    def others(self) -> tuple[DueTask, ...]:
        return self.tasks[1:]

    @property
    def since(self) -> date | None:
        """The day from which the first of it is overdue; None where all is due today."""
        oldest = min(task.on for task in self.tasks)
        return oldest if oldest < self.day else None


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
    """`later` is the batch that comes ready next. `first_steps` are there until the first batch is poured."""

    pours: Due[OpenPour]
    tasks: Due[TaskRow]
    ready: Due[CureRow]
    soon: Due[CureRow]
    low: Due[LowRow]
    expiring: Due[LotRow]
    later: CureRow | None
    first_steps: FirstSteps | None

    @property
    def on_the_bench(self) -> bool:
        """Whether any batch waits for something."""
        return any((self.pours, self.tasks, self.ready))


def today_at_work(day: date, workshop: Workshop) -> Today:
    """Everything that is due on a day. Seven queries, and three more until the first batch is poured.

    All of the rack is looked at; batches are fetched for those rows alone that are shown.
    """
    rack = on_the_rack(day)
    due = sorted(_with_tasks(rack, day, workshop), key=_pressing)
    coming = [held.cure for held in rack if held.cure.is_cut]
    soon = [cure for cure in coming if cure.ready_on <= day + WEEK]
    later = coming[len(soon) :][:1]
    _fetch_batches([*(held.cure for held, _ in due[: MOST_TASKS + 1]), *soon[: MOST_ROWS + 1], *later])
    row = partial(cure_row, today=day)
    ready = Cure.objects.ready(day).filter(ready_on__gt=day - WEEK).select_related("batch")
    expire = expiring(day, workshop.expiry_warning_days)
    return Today(
        pours=_first(_pours_of(day)),
        tasks=_first((_task_row(held, tasks, day) for held, tasks in due[: MOST_TASKS + 1]), MOST_TASKS),
        ready=_first(map(row, ready.order_by("ready_on", "pk")[: MOST_ROWS + 1])),
        soon=_first([row(cure) for cure in soon[: MOST_ROWS + 1]]),
        low=_first(_low_row(material, workshop) for material in low_stock(day)[: MOST_ROWS + 1]),
        expiring=_first(_lot_row(lot, day, workshop) for lot in expire[: MOST_ROWS + 1]),
        later=row(later[0]) if later else None,
        first_steps=_first_steps(),
    )


def _first(found: Iterable[T], most: int = MOST_ROWS) -> Due[T]:
    """Of one more than can be shown, those that can."""
    held = tuple(found)
    return Due(held[:most], more=len(held) > most)


def _with_tasks(rack: list[OnRack], day: date, workshop: Workshop) -> Iterator[Tasks]:
    for held in rack:
        if tasks := held.due_by(day, workshop):
            yield held, tasks


def _task_row(held: OnRack, tasks: tuple[DueTask, ...], day: date) -> TaskRow:
    return TaskRow(held.cure, picture_of(held.cure.batch), tasks, day)


def _pressing(tasks: Tasks) -> tuple[bool, date, int]:
    """What is to be cut comes first, then what has been due for longest."""
    held, due = tasks
    return due[0].task != Task.CUT, min(one.on for one in due), held.cure.pk


def _fetch_batches(cures: list[Cure]) -> None:
    batches = Batch.objects.in_bulk([cure.batch_id for cure in cures])
    for cure in cures:
        cure.batch = batches[cure.batch_id]


def _pours_of(day: date) -> Iterator[OpenPour]:
    """Pours begun, and those planned for the day or before."""
    for pour in map(open_pour, open_batches()[: MOST_ROWS + 1]):
        if pour.done or pour.batch.planned_for <= day:
            yield pour


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
