"""How the colour of a batch's portions turned, from the photos in which it was measured."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.utils import timezone
from django.utils.translation import gettext

from batches.models import Batch, ColourReading
from batches.queries.colour_chart import Chart, Charted, Measured, draw
from shared.colour import Change, Course, Lab, Reading, course, to_hex


class Portion(NamedTuple):
    """What can be measured: a portion of a batch by the key of its jug, or the bar, whose `jug` is None."""

    jug: int | None
    name: str


@dataclass(frozen=True, slots=True)
class Turn:
    """The colour of a portion on a day of the cure, as measured and for the screen ("#c8a27d")."""

    reading: ColourReading
    colour: Lab
    day: int
    change: Change
    hex: str


@dataclass(frozen=True, slots=True)
class PortionColour:
    """How the colour of a portion has gone, by day. `letter` names it in the chart."""

    letter: str
    name: str
    turns: tuple[Turn, ...]
    course: Course

    @property
    def latest(self) -> Turn:
        return self.turns[-1]


@dataclass(frozen=True, slots=True)
class ColourRecord:
    """All that a batch's page shows of its colour. The chart is None while all readings are of one day."""

    portions: tuple[PortionColour, ...]
    chart: Chart | None


def portions_of(batch: Batch) -> tuple[Portion, ...]:
    """What of a batch can be measured: its portions, or the bar where it has none. One query."""
    jugs = batch.jugs.filter(dropped=False)
    return tuple(Portion(jug.pk, jug.name) for jug in jugs) or (Portion(None, gettext("The bar")),)


def readings_of(batch: Batch) -> list[ColourReading]:
    """All readings of a batch, the oldest photo first. One query."""
    readings = ColourReading.objects.filter(note__cure__batch=batch)
    return list(readings.select_related("note", "jug").order_by("note__at", "note_id", "pk"))


def colour_record(readings: Sequence[ColourReading], started_on: date) -> ColourRecord | None:
    """How the colours have gone since the pour; None without a reading. No query."""
    grouped = _by_portion(readings)
    if not grouped:
        return None
    portions = tuple(_portion(number, group, started_on) for number, group in enumerate(grouped))
    return ColourRecord(portions, draw([_charted(portion) for portion in portions]))


def settled_readings(batch: Batch) -> list[tuple[str, float]]:
    """The portions whose colour has settled: name ("" for the bar), and how much darker than at first in L*.

    Below zero where it grew lighter. One query.
    """
    courses = ((group[0].jug, _course(group)) for group in _by_portion(readings_of(batch)))
    return [(jug.name if jug else "", -one.changes[-1].lightness) for jug, one in courses if one.settled]


def _by_portion(readings: Iterable[ColourReading]) -> list[list[ColourReading]]:
    """Readings of each portion in the order of the portions, each the oldest first."""
    grouped: dict[int | None, list[ColourReading]] = {}
    for reading in sorted(readings, key=_place_in_batch):
        grouped.setdefault(reading.jug_id, []).append(reading)
    return list(grouped.values())


def _place_in_batch(reading: ColourReading) -> tuple[int, int]:
    return (reading.jug.position, reading.jug.pk) if reading.jug else (-1, 0)


def _portion(number: int, readings: list[ColourReading], started_on: date) -> PortionColour:
    gone = _course(readings)
    by_day = {_on(reading): reading for reading in readings}
    turns = tuple(_turn(by_day[change.on], change, started_on) for change in gone.changes)
    jug = readings[0].jug
    return PortionColour(_letter(number), jug.name if jug else gettext("The bar"), turns, gone)


def _turn(reading: ColourReading, change: Change, started_on: date) -> Turn:
    colour = _lab(reading)
    return Turn(reading, colour, (change.on - started_on).days, change, to_hex(colour))


def _charted(portion: PortionColour) -> Charted:
    readings = [
        Measured(turn.day, turn.colour.lightness, turn.change.difference, turn.hex) for turn in portion.turns
    ]
    return Charted(portion.letter, readings)


def _letter(number: int) -> str:
    """A to Z, then by number: a batch has that many portions only by mistake."""
    return chr(ord("A") + number) if number < 26 else str(number + 1)


def _course(readings: Iterable[ColourReading]) -> Course:
    return course(Reading(_on(reading), _lab(reading)) for reading in readings)


def _on(reading: ColourReading) -> date:
    return timezone.localdate(reading.note.at)


def _lab(reading: ColourReading) -> Lab:
    return Lab(float(reading.lightness), float(reading.a), float(reading.b))
