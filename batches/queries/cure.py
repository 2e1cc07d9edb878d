"""The cure record of one batch: its notes, its weigh-ins, its bars."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from batches.models import BarMovement, Cure, CureNote, WeighIn
from batches.queries.colour import ColourRecord, colour_record, readings_of
from batches.queries.drying import DryingCurve, draw, loss_since, weekly_loss
from batches.services.bars import REVERSIBLE


@dataclass(frozen=True, slots=True)
class NoteLine:
    """A note, the day of the cure it was made on (the pour is day 0), and whether it was measured."""

    note: CureNote
    day: int
    measured: bool


@dataclass(frozen=True, slots=True)
class WeighInLine:
    """A weigh-in, its day of the cure, and what a bar has lost since the first one, in per cent."""

    weigh_in: WeighIn
    day: int
    loss: Decimal


@dataclass(frozen=True, slots=True)
class BarLine:
    """A movement of bars, and whether it can still be brought back."""

    movement: BarMovement
    reversible: bool


@dataclass(frozen=True, slots=True)
class CureRecord:
    """All that a batch's page shows of its cure. Lines come with the newest first."""

    cure: Cure
    day: int
    ready: bool
    notes: tuple[NoteLine, ...]
    weigh_ins: tuple[WeighInLine, ...]
    curve: DryingCurve | None
    weekly_loss: Decimal | None
    bars: tuple[BarLine, ...]
    colour: ColourRecord | None


def cure_record(cure: Cure, today: date) -> CureRecord:
    """The record of a cure as it stands. Four queries."""
    weigh_ins = list(cure.weigh_ins.all())
    readings = readings_of(cure.batch)
    measured = {reading.note_id for reading in readings}
    return CureRecord(
        cure=cure,
        day=_day(cure, today),
        ready=cure.is_cut and cure.ready_on <= today,
        notes=tuple(
            NoteLine(note, _day(cure, timezone.localdate(note.at)), note.pk in measured)
            for note in cure.notes.select_related("by", "photo")
        ),
        weigh_ins=tuple(_weigh_in_line(cure, one, weigh_ins[0]) for one in reversed(weigh_ins)),
        curve=draw(weigh_ins, cure.ready_on),
        weekly_loss=weekly_loss(weigh_ins),
        bars=bar_lines(cure),
        colour=colour_record(readings, cure.started_on),
    )


def bar_lines(cure: Cure) -> tuple[BarLine, ...]:
    """The ledger of a batch's bars, the newest first. One query."""
    movements = cure.bar_movements.select_related("by", "reversed_by")
    return tuple(BarLine(movement, _reversible(movement)) for movement in movements)


def _weigh_in_line(cure: Cure, weigh_in: WeighIn, first: WeighIn) -> WeighInLine:
    return WeighInLine(weigh_in, _day(cure, weigh_in.on), loss_since(first.bar_weight, weigh_in.bar_weight))


def _day(cure: Cure, on: date) -> int:
    return (on - cure.started_on).days


def _reversible(movement: BarMovement) -> bool:
    return movement.kind in REVERSIBLE and not hasattr(movement, "reversed_by")
