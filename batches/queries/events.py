"""What was logged at the bench, against the time when the lye went in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from batches.models import Batch, Event


@dataclass(frozen=True, slots=True)
class Logged:
    """An event with how long after the lye it was; None where it was before, or no lye was in."""

    event: Event
    after_lye: timedelta | None


@dataclass(frozen=True, slots=True)
class Log:
    """All that was logged of a batch, in the order in which it happened."""

    lye_mixed_at: datetime | None
    entries: tuple[Logged, ...]

    @property
    def newest_first(self) -> tuple[Logged, ...]:
        return self.entries[::-1]

    @property
    def last(self) -> Logged | None:
        """What was written down last: the one that undo takes back."""
        return max(self.entries, key=lambda entry: entry.event.pk, default=None)

    @property
    def word(self) -> Event | None:
        """The last word for how the batter behaves."""
        return self._latest(lambda event: not (event.is_temperature or event.kind == Event.Kind.NOTE))

    @property
    def temperatures(self) -> tuple[Event, ...]:
        """The last one of each: lye, fats, room."""
        found = (self._latest_of(kind) for kind in Event.TEMPERATURES)
        return tuple(event for event in found if event)

    def _latest_of(self, kind: Event.Kind) -> Event | None:
        return self._latest(lambda event: event.kind == kind)

    def _latest(self, wanted: Callable[[Event], bool]) -> Event | None:
        return next((entry.event for entry in self.newest_first if wanted(entry.event)), None)


def log_of(batch: Batch) -> Log:
    """The events of a batch with who logged them and their photos. One query."""
    events = batch.events.select_related("by", "photo")
    return Log(batch.lye_mixed_at, tuple(Logged(event, _after(event, batch)) for event in events))


def _after(event: Event, batch: Batch) -> timedelta | None:
    if batch.lye_mixed_at is None or event.at < batch.lye_mixed_at:
        return None
    return event.at - batch.lye_mixed_at
