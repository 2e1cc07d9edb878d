"""What the calendar of the workshop holds: pours, what the rack asks for, lots that go off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext, ngettext

from batches.models import Batch
from batches.queries.due import Due, OnRack, Task, on_the_rack
from inventory.queries import expiring
from soapshop.core.models import Workshop

DAYS_AHEAD = 180
UPKEEP_AHEAD = 30  # days: turning and weighing in move with each time they are done


@dataclass(frozen=True, slots=True)
class Entry:
    """Something to do: at a moment, or on a day. `name` stays as long as it is the same thing.

    `page` is the name of the address that shows it, `pk` what of.
    """

    name: str
    title: str
    at: date | datetime
    page: str
    pk: int


def calendar_entries(day: date, workshop: Workshop) -> list[Entry]:
    """Everything from `day` for half a year, by batch; what is overdue stands on `day`. Four queries."""
    last = day + timedelta(days=DAYS_AHEAD)
    entries = [*_pours(day, last), *_rack(day, workshop), *_lots(day)]
    return [entry for entry in entries if _day_of(entry) <= last]


def same_time(moment: datetime, on: date) -> datetime:
    """The moment's time of day, by the clock on the wall, on another day: clocks may change in between."""
    local = timezone.localtime(moment)
    return datetime.combine(on, local.time(), tzinfo=local.tzinfo)


def _pours(day: date, last: date) -> Iterator[Entry]:
    for batch in Batch.objects.open().filter(planned_for__lte=last).order_by("planned_for", "pk"):
        yield _entry(batch, gettext("Pour %(soap)s"), max(batch.planned_for, day), "pour")


def _rack(day: date, workshop: Workshop) -> Iterator[Entry]:
    rack = on_the_rack(day)
    batches = Batch.objects.in_bulk([held.cure.batch_id for held in rack])
    until = day + timedelta(days=UPKEEP_AHEAD)
    for held in rack:
        for due in held.ahead(day, workshop, upkeep_until=until):
            yield _task(batches[held.cure.batch_id], held, due, max(due.on, day))


def _task(batch: Batch, held: OnRack, due: Due, on: date) -> Entry:
    cure = held.cure
    if due.task == Task.CUT:
        # A batch that is to be cut has been poured.
        return _entry(batch, gettext("Cut %(soap)s"), same_time(batch.poured_at, on), "cut")  # type: ignore[arg-type]
    if due.task == Task.READY:
        bars = cure.bars_left if cure.is_cut else batch.bars_planned
        words = ngettext("Ready: %(soap)s, %(bars)s bar", "Ready: %(soap)s, %(bars)s bars", bars)
        return _entry(batch, words, on, "ready", bars=bars)
    if due.task == Task.PHOTOGRAPH:
        of_cure = (due.on - cure.started_on).days
        words = gettext("Photograph %(soap)s, day %(day)s")
        return _entry(batch, words, on, f"photo {due.on}", day=of_cure)
    words = gettext("Turn %(soap)s") if due.task == Task.TURN else gettext("Weigh in %(soap)s")
    return _entry(batch, words, on, f"{due.task} {due.on}")


def _entry(batch: Batch, words: str, at: date | datetime, name: str, **figures: int) -> Entry:
    title = words % {"soap": f"{batch.frozen['recipe']} {batch.code}", **figures}
    return Entry(f"{name} {batch.key}", title, at, "batches:batch", batch.pk)


def _lots(day: date) -> Iterator[Entry]:
    for lot in expiring(day, DAYS_AHEAD):
        if lot.best_before and lot.best_before >= day:
            words = gettext("Best before: %(material)s, %(lot)s")
            title = words % {"material": lot.material, "lot": lot.code}
            yield Entry(f"best before {lot.pk} {lot.code}", title, lot.best_before, "inventory:lot", lot.pk)


def _day_of(entry: Entry) -> date:
    return entry.at.date() if isinstance(entry.at, datetime) else entry.at
