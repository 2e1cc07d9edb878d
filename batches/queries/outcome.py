"""What was noted of how a batch came out."""

from __future__ import annotations

from batches.models import Batch
from recipes.models import Outcome


def outcome_of(batch: Batch) -> Outcome | None:
    """What came of a batch, with its photo. One query."""
    return Outcome.objects.select_related("photo", "by").filter(batch=batch.code).first()
