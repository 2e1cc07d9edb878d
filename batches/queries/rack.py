"""The rack: what is to be cut, and what cures, by the day it will be ready."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Q, Sum
from django.db.models.functions import Coalesce

from batches.models import Cure
from batches.queries.due import OnRack
from batches.queries.picture import Picture, picture_of
from batches.queries.rows import WEEK, CureRow, Stage, cure_row
from soapshop.core.models import Workshop

PER_PAGE = 25
WEEKS_DRAWN = 8


@dataclass(frozen=True, slots=True)
class RackGroup:
    """A part of the rack with all bars it holds, on this page or not, and the rows of this page."""

    stage: Stage
    bars: int
    rows: tuple[CureRow, ...]


@dataclass(frozen=True, slots=True)
class Week:
    """Bars that come ready in the week from `start`; `share` is of the fullest week, in per cent."""

    start: date
    bars: int
    share: int


@dataclass(frozen=True, slots=True)
class Rack:
    page: Page[Cure]
    groups: tuple[RackGroup, ...]
    weeks: tuple[Week, ...]


@dataclass(frozen=True, slots=True)
class TurnRow:
    """Bars on the rack, and whether it is time to turn them; `last` is when they were turned or cut."""

    cure: Cure
    picture: Picture
    last: date
    due: bool


def rack(*, today: date, page: str | int | None = 1, per_page: int = PER_PAGE) -> Rack:
    """A page of the rack, what is to be cut first and the rest by its ready day. Five queries."""
    cures = Cure.objects.on_the_rack(today).select_related("batch").prefetch_related("weigh_ins")
    shown = Paginator(cures, per_page).get_page(page)
    bars = _bars(today)
    rows = [cure_row(cure, today) for cure in shown]
    groups = tuple(
        RackGroup(stage, bars[stage], tuple(held)) for stage, held in groupby(rows, key=lambda row: row.stage)
    )
    return Rack(shown, groups, _weeks(today))


def to_turn(today: date, workshop: Workshop) -> list[TurnRow]:
    """All bars that cure, those that have lain longest in front. One query."""
    cures = Cure.objects.on_the_rack(today).filter(cut_on__isnull=False).select_related("batch")
    lain = cures.annotate(last=Coalesce("turned_on", "cut_on")).order_by("last", "pk")
    return [_turn_row(cure, today, workshop) for cure in lain]


def _turn_row(cure: Any, today: date, workshop: Workshop) -> TurnRow:
    """`cure` is annotated with `last`."""
    due = OnRack(cure).turn(workshop)
    return TurnRow(cure, picture_of(cure.batch), cure.last, due is not None and due.on <= today)


def _bars(today: date) -> dict[str, int]:
    """Bars in each part of the whole rack."""
    cut = Q(cut_on__isnull=False)
    return Cure.objects.on_the_rack(today).aggregate(
        to_cut=Sum("batch__bars_planned", filter=~cut, default=0),
        this_week=Sum("bars_left", filter=cut & Q(ready_on__lte=today + WEEK), default=0),
        later=Sum("bars_left", filter=cut & Q(ready_on__gt=today + WEEK), default=0),
    )


def _weeks(today: date) -> tuple[Week, ...]:
    """The weeks to come up to the last that brings bars, each with how many."""
    cut = Cure.objects.on_the_rack(today).filter(cut_on__isnull=False)
    days = cut.filter(ready_on__lte=today + WEEKS_DRAWN * WEEK).order_by().values_list("ready_on")
    bars = [0] * WEEKS_DRAWN
    for ready_on, left in days.annotate(total=Sum("bars_left")):
        bars[((ready_on - today).days - 1) // WEEK.days] += left
    while bars and not bars[-1]:
        bars.pop()
    fullest = max(bars, default=0)
    return tuple(
        Week(today + timedelta(days=1) + number * WEEK, count, round(100 * count / fullest))
        for number, count in enumerate(bars)
    )
