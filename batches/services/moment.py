"""When something at the bench was done: now, or at the time that a phone without network wrote down."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.utils import timezone

LONGEST_AGO = timedelta(days=731)


def moment(at: datetime | None) -> datetime:
    """The time given, or now where there is none; a clock that is ahead of ours means now.

    Raises ValidationError (field 'at') for what lies more than two years back.
    """
    now = timezone.now()
    if at is None or at > now:
        return now
    if at < now - LONGEST_AGO:
        raise ValidationError({"at": "Give a moment of the last two years."})
    return at
