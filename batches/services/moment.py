"""When something at the bench was done: now, or at the time that a phone without network wrote down."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext

LONGEST_AGO = timedelta(days=731)


def day_in_words(day: date | None) -> str:
    """A day as errors name it: '12 May 2026'."""
    return date_format(day, "d M Y") if day else ""


def moment(at: datetime | None) -> datetime:
    """The time given, or now where there is none; a clock that is ahead of ours means now.

    Raises ValidationError (field 'at') for what lies more than two years back.
    """
    now = timezone.now()
    if at is None or at > now:
        return now
    if at < now - LONGEST_AGO:
        raise ValidationError({"at": gettext("Give a moment of the last two years.")})
    return at
