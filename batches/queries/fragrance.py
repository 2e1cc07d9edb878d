"""How a fragrance has behaved in every batch that it went into."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TypedDict

from django.db.models import F, Min, Prefetch, QuerySet, Sum
from django.utils import timezone

from batches.models import Batch, ColourReading, CureNote, Event, State, Weighing
from inventory.models import Kind, Material
from shared.colour import Course, Lab, Reading, course

SHOWN = 40
WEEK = 7
THICKENED = (Event.Kind.ACCELERATION, Event.Kind.SEIZING)
TOLD = (*THICKENED, Event.Kind.RICING, Event.Kind.OVERHEATING)


@dataclass(frozen=True, slots=True)
class Seen:
    """A word that was logged, and how many minutes after the fragrance went in."""

    event: Event
    minutes: int


@dataclass(frozen=True, slots=True)
class Poured:
    """One batch with the fragrance: grams of it for 100 g of fats, what was seen, and how it turned.

    `of_fats` is None where no fats were weighed, as for batter that was kept back. `darker` are the drops of
    L* by week of the cure, of the portion that turned most; `scents` what was noted of the scent, by day of
    the cure.
    """

    batch: Batch
    of_fats: Decimal | None
    seen: tuple[Seen, ...]
    temperatures: tuple[Event, ...]
    darker: tuple[tuple[int, float], ...]
    scents: tuple[tuple[int, str], ...]


def poured_with(material: Material) -> list[Poured]:
    """The last batches with that fragrance whose pour stands, the newest first. Six queries."""
    events = Prefetch("events", Event.objects.order_by("at", "pk"))
    batches = list(_standing(material).prefetch_related(events).order_by("-poured_at")[:SHOWN])
    weights, since = _weights(batches, material)
    readings, scents = _readings(batches), _scents(batches)
    return [
        Poured(
            batch=batch,
            of_fats=weights[batch.pk],
            seen=tuple(_seen(batch, since[batch.pk])),
            temperatures=tuple(event for event in batch.events.all() if event.is_temperature),
            darker=_darker(readings[batch.pk]),
            scents=tuple(scents[batch.pk]),
        )
        for batch in batches
    ]


class Behaved(TypedDict):
    """In how many batches what happened, and within how many minutes it thickened."""

    batches: int
    thickened: int
    within_minutes: int | None
    riced: int
    seized: int
    overheated: int


def behaviour_of(material: Material) -> Behaved:
    """How it behaved in all batches whose pour stands. Two queries."""
    standing = _standing(material)
    since = dict(
        Weighing.objects.filter(line__material=material, line__batch__in=standing)
        .values("line__batch")
        .annotate(first=Min("at"))
        .values_list("line__batch", "first")
        .order_by()
    )
    minutes: dict[str, dict[int, int]] = defaultdict(dict)
    rows = Event.objects.filter(batch__in=standing, kind__in=TOLD).values_list("batch", "kind", "at")
    for batch, kind, at in rows.order_by("-at"):
        if at >= since[batch]:
            minutes[kind][batch] = _minutes(since[batch], at)
    thickened: dict[int, int] = {}
    for kind in THICKENED:
        for pk, after in minutes[kind].items():
            thickened[pk] = min(after, thickened.get(pk, after))
    return {
        "batches": len(since),
        "thickened": len(thickened),
        "within_minutes": max(thickened.values(), default=None),
        "riced": len(minutes[Event.Kind.RICING]),
        "seized": len(minutes[Event.Kind.SEIZING]),
        "overheated": len(minutes[Event.Kind.OVERHEATING]),
    }


def _standing(material: Material) -> QuerySet[Batch]:
    """Batches with it whose pour stands."""
    used = Weighing.objects.filter(line__material=material).values("line__batch")
    return Batch.objects.filter(pk__in=used, state__in=[State.POURED, State.CUT])


def _minutes(since: datetime, at: datetime) -> int:
    return (at - since) // timedelta(minutes=1)


def _weights(
    batches: Iterable[Batch], material: Material
) -> tuple[dict[int, Decimal | None], dict[int, datetime]]:
    """By batch the fragrance in % of the fats, and when the first of it went in."""
    weighed = Weighing.objects.filter(line__batch__in=batches).values(batch=F("line__batch"))
    fats = dict(
        weighed.filter(line__material__kind=Kind.FAT)
        .annotate(total=Sum("quantity"))
        .values_list("batch", "total")
        .order_by()
    )
    own = weighed.filter(line__material=material).annotate(total=Sum("quantity"), first=Min("at")).order_by()
    shares = {
        row["batch"]: 100 * row["total"] / fats[row["batch"]] if row["batch"] in fats else None for row in own
    }
    return shares, {row["batch"]: row["first"] for row in own}


def _seen(batch: Batch, since: datetime) -> Iterable[Seen]:
    """Words that were logged once the fragrance was in."""
    for event in batch.events.all():
        if not event.is_temperature and event.kind != Event.Kind.NOTE and event.at >= since:
            yield Seen(event, _minutes(since, event.at))


def _readings(batches: Iterable[Batch]) -> dict[int, list[ColourReading]]:
    found: dict[int, list[ColourReading]] = defaultdict(list)
    rows = ColourReading.objects.filter(note__cure__batch__in=batches).select_related("note__cure")
    for reading in rows.order_by("note__at", "pk"):
        found[reading.note.cure.batch_id].append(reading)
    return found


def _scents(batches: Iterable[Batch]) -> dict[int, list[tuple[int, str]]]:
    """By batch the day of the cure and how strong the scent was."""
    found: dict[int, list[tuple[int, str]]] = defaultdict(list)
    notes = CureNote.objects.filter(cure__batch__in=batches).exclude(scent="").select_related("cure")
    for note in notes.order_by("at", "pk"):
        day = (timezone.localdate(note.at) - note.cure.started_on).days
        found[note.cure.batch_id].append((day, note.get_scent_display().lower()))
    return found


def _darker(readings: Sequence[ColourReading]) -> tuple[tuple[int, float], ...]:
    """By week how far L* has dropped, of the portion that turned most."""
    courses = [_course(group) for group in _by_jug(readings).values()]
    if not courses:
        return ()
    most = min(courses, key=lambda one: one.changes[-1].lightness)
    later = (change for change in most.changes if change.days >= WEEK)
    return tuple(sorted({change.days // WEEK: -change.lightness for change in later}.items()))


def _by_jug(readings: Iterable[ColourReading]) -> dict[int | None, list[ColourReading]]:
    found: dict[int | None, list[ColourReading]] = defaultdict(list)
    for reading in readings:
        found[reading.jug_id].append(reading)
    return found


def _course(readings: Iterable[ColourReading]) -> Course:
    return course(
        Reading(_day(one), Lab(float(one.lightness), float(one.a), float(one.b))) for one in readings
    )


def _day(reading: ColourReading) -> date:
    return timezone.localdate(reading.note.at)
