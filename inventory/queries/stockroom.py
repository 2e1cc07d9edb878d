"""The stockroom in one look: what is there, what is low, what goes off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import (
    Case,
    DecimalField,
    Exists,
    F,
    IntegerField,
    Min,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce, Lower, Round

from inventory.models import Kind, Lot, Material
from inventory.shelf import Shelf, look

PER_PAGE = 25
NOTHING = Value(Decimal(0), output_field=DecimalField(max_digits=14, decimal_places=2))
BY_KIND = Case(
    *(When(kind=kind, then=Value(place)) for place, kind in enumerate(Kind)), output_field=IntegerField()
)


class Show(StrEnum):
    """Which materials: those on the shelf or wanted there, those that are low, those that go off, all."""

    SHELF = "shelf"
    LOW = "low"
    EXPIRING = "expiring"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Stockroom:
    """A page of rows, and what needs the maker's eye over the whole stock."""

    page: Page[Material]
    rows: list[Shelf]
    shelf_count: int
    low: list[Material]
    expiring: list[Lot]

    @property
    def expiring_count(self) -> int:
        """How many materials have a lot that goes off."""
        return len({lot.material_id for lot in self.expiring})


def stockroom(
    *,
    today: date,
    warn_days: int,
    show: Show = Show.SHELF,
    kind: str = "",
    search: str = "",
    page: str | int | None = 1,
    per_page: int = PER_PAGE,
) -> Stockroom:
    """The stockroom as filtered. Rows come by kind and name, those going off by their day."""
    found = _filtered(_with_stock(today), today, warn_days, show)
    if kind:
        found = found.filter(kind=kind)
    if search:
        found = found.filter(
            Q(name__icontains=search) | Q(inci_name__icontains=search) | _has_lot(code__icontains=search)
        )
    order = ("soonest", "pk") if show is Show.EXPIRING else (BY_KIND, Lower("name"))
    lots = Prefetch("lots", Lot.objects.in_stock().to_use_first(), to_attr="in_stock")
    shown = Paginator(found.order_by(*order).prefetch_related(lots), per_page).get_page(page)
    soon = Lot.objects.expiring_by(_warn_by(today, warn_days)).select_related("material")
    return Stockroom(
        page=shown,
        rows=[look(each, each.in_stock, today=today, warn_days=warn_days) for each in shown],
        shelf_count=Material.objects.in_use().filter(_has_lot(on_hand__gt=0)).count(),
        low=list(low_stock(today)),
        expiring=list(soon.order_by("best_before", "pk")),
    )


def low_stock(today: date) -> QuerySet[Material]:
    """Materials at or below their reorder level, counting only what still keeps; by kind and name."""
    return _low(_with_stock(today)).order_by(BY_KIND, Lower("name"))


def _with_stock(today: date) -> QuerySet[Any]:
    """Materials in use with `usable` and `soonest`, the earliest best-before on the shelf."""
    held = Q(lots__on_hand__gt=0)
    keeps = held & (Q(lots__best_before__isnull=True) | Q(lots__best_before__gte=today))
    return Material.objects.in_use().annotate(
        usable=Round(Coalesce(Sum("lots__on_hand", filter=keeps), NOTHING), precision=2),
        soonest=Min("lots__best_before", filter=held),
    )


def _filtered(materials: QuerySet[Any], today: date, warn_days: int, show: Show) -> QuerySet[Any]:
    if show is Show.SHELF:
        return materials.filter(Q(reorder_level__isnull=False) | _has_lot(on_hand__gt=0))
    if show is Show.LOW:
        return _low(materials)
    if show is Show.EXPIRING:
        return materials.filter(soonest__lte=_warn_by(today, warn_days))
    return materials


def _low(materials: QuerySet[Any]) -> QuerySet[Any]:
    return materials.filter(usable__lte=F("reorder_level"))


def _has_lot(**condition: object) -> Exists:
    return Exists(Lot.objects.filter(material=OuterRef("pk"), **condition))


def _warn_by(today: date, warn_days: int) -> date:
    return today + timedelta(days=warn_days)
