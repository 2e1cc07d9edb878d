"""Entries of the calendar as iCalendar text (RFC 5545), for calendars that subscribe to it.

It names soaps, batches and materials, and no person: whoever has the secret link can read it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from uuid import NAMESPACE_OID, uuid5

from icalendar import Calendar, Event

from batches.queries.calendar import Entry

OURS = uuid5(NAMESPACE_OID, "soapshop calendar")
A_MOMENT = timedelta(minutes=30)  # how long an entry with a time takes up in the calendar
REFRESH = timedelta(hours=6)


def as_icalendar(
    entries: Iterable[Entry], *, name: str, now: datetime, page_of: Callable[[Entry], str]
) -> bytes:
    """A whole calendar. `name` is shown by the calendar that subscribes; `page_of` gives a full address."""
    calendar = Calendar()
    calendar.add("prodid", "-//soapshop//workshop calendar//EN")
    calendar.add("version", "2.0")
    calendar.add("name", name)  # RFC 7986
    calendar.add("x-wr-calname", name)  # the same for calendars that know only this one
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    for entry in entries:
        calendar.add_component(_event(entry, now, page_of(entry)))
    return bytes(calendar.to_ical())


def _event(entry: Entry, now: datetime, page: str) -> Event:
    """A day has no time zone; a moment is given in UTC, which every calendar puts into its own."""
    event = Event()
    event.add("uid", str(uuid5(OURS, entry.name)))
    event.add("dtstamp", now.astimezone(UTC))
    event.add("summary", entry.title)
    if isinstance(entry.at, datetime):
        event.add("dtstart", entry.at.astimezone(UTC))
        event.add("duration", A_MOMENT)
    else:
        event.add("dtstart", entry.at)
        event.add("transp", "TRANSPARENT")
    event.add("url", page)
    return event
