"""What is due on the rack: cut, turn, weigh in, photograph, and bars that come ready.

For a day, with what is overdue; and for the days ahead, as a calendar shows it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import chain
from typing import Any

from django.db.models import OuterRef, Subquery, TextChoices
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.models import Cure, CureNote, WeighIn
from batches.services.pour import DAYS_TO_CUT
from soapshop.core.models import Workshop

# Days after the pour on which a photo tells how the colour settles. It has mostly settled after four weeks
# (common practice, no source).
PHOTO_DAYS = (1, 7, 14, 28)


class Task(TextChoices):
    """What is to be done with a batch, the most pressing in front: soap left too long is hard to cut."""

    CUT = "cut", _("Cut")
    TURN = "turn", _("Turn")
    WEIGH_IN = "weigh_in", _("Weigh in")
    PHOTOGRAPH = "photograph", _("Photo")
    READY = "ready", _("Ready")


@dataclass(frozen=True, slots=True)
class Due:
    """A task and the day from which it is due."""

    task: Task
    on: date


@dataclass(frozen=True, slots=True)
class OnRack:
    """A batch on the rack, with the days on which it was last weighed and last photographed."""

    cure: Cure
    weighed_on: date | None = None
    pictured_on: date | None = None

    def due_by(self, day: date, workshop: Workshop) -> tuple[Due, ...]:
        """All that is to be done by that day, the most pressing in front."""
        tasks = (self._cut(), self.turn(workshop), self._weigh_in(workshop), self._photograph(day))
        return tuple(due for due in tasks if due and due.on <= day)

    def ahead(self, day: date, workshop: Workshop, *, upkeep_until: date) -> Iterator[Due]:
        """What comes, and what is overdue with the day it was due; turning and weighing only so far."""
        until = min(upkeep_until, self._last_day)
        once = [self._cut(), self._ready(day)]
        return chain(
            (due for due in once if due),
            _repeated(self.turn(workshop), workshop.turn_every, day, until),
            _repeated(self._weigh_in(workshop), workshop.weigh_in_every, day, until),
            self._photographs(day),
        )

    @property
    def _last_day(self) -> date:
        """Of the cure: on the day after it the bars are ready."""
        return self.cure.ready_on - timedelta(days=1)

    def _cut(self) -> Due | None:
        if self.cure.is_cut:
            return None
        return Due(Task.CUT, self.cure.started_on + timedelta(days=DAYS_TO_CUT))

    def turn(self, workshop: Workshop) -> Due | None:
        """When the bars are to be turned next; None before the cut, at the end of the cure, or if never."""
        if not (self.cure.cut_on and workshop.turn_every):
            return None
        last = self.cure.turned_on or self.cure.cut_on
        return self._while_curing(Due(Task.TURN, last + timedelta(days=workshop.turn_every)))

    def _weigh_in(self, workshop: Workshop) -> Due | None:
        """First at the cut: what the bars lose is reckoned from there."""
        if not (self.cure.cut_on and workshop.weigh_in_every):
            return None
        if self.weighed_on is None:
            return self._while_curing(Due(Task.WEIGH_IN, self.cure.cut_on))
        return self._while_curing(
            Due(Task.WEIGH_IN, self.weighed_on + timedelta(days=workshop.weigh_in_every))
        )

    def _ready(self, day: date) -> Due | None:
        """Not while it waits to be cut beyond the day that was reckoned with."""
        return Due(Task.READY, self.cure.ready_on) if self.cure.ready_on > day else None

    def _while_curing(self, due: Due) -> Due | None:
        return due if due.on <= self._last_day else None

    def _photograph(self, day: date) -> Due | None:
        """The last photo day so far, if no photo was taken since."""
        past = [on for on in self._photo_days() if on <= day]
        if not past or (self.pictured_on and self.pictured_on >= past[-1]):
            return None
        return Due(Task.PHOTOGRAPH, past[-1])

    def _photographs(self, day: date) -> Iterator[Due]:
        if overdue := self._photograph(day):
            yield overdue
        yield from (Due(Task.PHOTOGRAPH, on) for on in self._photo_days() if on > day)

    def _photo_days(self) -> list[date]:
        """While it cures; as long as it is not cut, it does."""
        days = [self.cure.started_on + timedelta(days=after) for after in PHOTO_DAYS]
        return [on for on in days if on <= self._last_day or not self.cure.is_cut]


def on_the_rack(day: date) -> list[OnRack]:
    """All that is to be cut or cures on that day, without the batches themselves. One query."""
    weighed = WeighIn.objects.filter(cure=OuterRef("pk")).order_by("-on").values("on")
    pictured = CureNote.objects.filter(cure=OuterRef("pk"), photo__isnull=False).order_by("-at").values("at")
    cures = Cure.objects.on_the_rack(day).annotate(
        weighed_on=Subquery(weighed[:1]), pictured_at=Subquery(pictured[:1])
    )
    return [_on_rack(cure) for cure in cures]


def _on_rack(cure: Any) -> OnRack:
    """`cure` is annotated with when it was last weighed and pictured."""
    pictured_on = timezone.localdate(cure.pictured_at) if cure.pictured_at else None
    return OnRack(cure, cure.weighed_on, pictured_on)


def _repeated(first: Due | None, every: int, day: date, until: date) -> Iterator[Due]:
    """The due day, and each further one after it (or after today, where it is overdue)."""
    if first is None:
        return
    yield first
    on = max(first.on, day) + timedelta(days=every)
    while on <= until:
        yield Due(first.task, on)
        on += timedelta(days=every)
