"""Who did what to which thing."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone

from soapshop.core.models import History, User

LONGEST = 400


def subject_of(thing: models.Model) -> str:
    """How history names a thing: 'inventory.lot:12'. It outlives the thing."""
    return f"{thing._meta.label_lower}:{thing.pk}"


def record(
    *,
    by: User | None,
    subject: models.Model,
    what: str,
    detail: dict[str, Any] | None = None,
    at: datetime | None = None,
) -> None:
    """Add a line to the history, in the caller's transaction. `detail` may hold decimals, days and times.

    `at` is when it was done, for what is written down later; now where it is not given.
    """
    plain = json.loads(json.dumps(detail or {}, cls=DjangoJSONEncoder))
    History.objects.create(
        by=by, subject=subject_of(subject), what=what[:LONGEST], detail=plain, at=at or timezone.now()
    )
