"""Batches on the rack and on the shelf, for the tests of their pages."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

from django.utils import timezone

from batches.models import Batch, Cure
from batches.services.cure import cut
from batches.services.pour import pour
from recipes.models import Version
from tests.batches.bench import Bench


def days_ago(days: int) -> date:
    return timezone.localdate() - timedelta(days=days)


def poured(shop: Bench, days: int, *, version: Version | None = None) -> Cure:
    """The cure of a batch that was poured so many days ago and is not cut."""
    poured_at = timezone.now() - timedelta(days=days)
    batch = shop.plan(version=version)
    return pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True, at=poured_at).cure


def cut_days_ago(shop: Bench, days: int, *, bars: int = 10, version: Version | None = None) -> Cure:
    """The cure of a batch that was cut so many days ago, the day after its pour; it cures for 28 days."""
    cure = poured(shop, days + 1, version=version)
    return cut(cure=cure, on=days_ago(days), bars=bars, trimmings=Decimal(40), key=uuid4(), by=shop.maker)


def copies(cure: Cure, count: int) -> None:
    """More batches like that one, straight into the database: for pages with very many."""
    codes = [f"copy-{uuid4().hex[:12]}" for _ in range(count)]
    fields = {"version_id": cure.batch.version_id, "frozen": cure.batch.frozen, "bars_planned": 10}
    times = {"planned_by_id": cure.batch.planned_by_id, "poured_by_id": cure.batch.planned_by_id}
    state = {"state": Batch.objects.get(pk=cure.batch_id).state, "poured_at": timezone.now()}
    batches = Batch.objects.bulk_create(
        Batch(code=code, key=uuid4(), **fields, **times, **state) for code in codes
    )
    same = ("cure_days", "started_on", "ready_on", "cut_on", "bars_cut", "bars_left", "trimmings", "place")
    Cure.objects.bulk_create(
        Cure(batch=batch, **{name: getattr(cure, name) for name in same}) for batch in batches
    )
