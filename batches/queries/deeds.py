"""What phones told of a batch and the book did not take in."""

from __future__ import annotations

from django.db.models import QuerySet

from batches.models import Batch, Deed


def kept_aside(batch: Batch) -> QuerySet[Deed]:
    """Deeds that were kept in the record only, in the order in which they were done. One query."""
    return batch.deeds.filter(set_aside=True).select_related("by", "photo").order_by("done_at", "pk")
