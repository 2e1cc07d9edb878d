"""Which lots there are, which go first, which go off."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.core.paginator import Page, Paginator
from django.db.models import OuterRef, Q, QuerySet, Subquery, Value

from inventory.models import Lot, LotPart, Material, Movement
from inventory.queries.doubts import SapDoubt, purity_doubt, sap_doubt
from inventory.queries.ledger import movement_rows
from inventory.queries.made import MadeOf, made_of, went_into
from inventory.shelf import Bar, draw

MOST_LABELS = 120  # twelve sheets


def lots_to_use(materials: Iterable[int], day: date) -> dict[int, list[Lot]]:
    """By material id the lots that hold something and keep until that day, the first to expire in front.

    A material without any is left out. One query.
    """
    found: dict[int, list[Lot]] = {}
    lots = Lot.objects.usable_on(day).filter(material__in=list(materials))
    for lot in lots.select_related("material").to_use_first():
        found.setdefault(lot.material_id, []).append(lot)
    return found


def last_prices(materials: Iterable[int]) -> dict[int, Decimal]:
    """By material id what a gram (or piece) cost in the lot that came last. One query."""
    newest = Lot.objects.filter(material=OuterRef("pk")).order_by("-received_on", "-pk").values("pk")[:1]
    last = Material.objects.filter(pk__in=list(materials)).annotate(last=Subquery(newest)).values("last")
    return {lot.material_id: lot.unit_cost for lot in Lot.objects.filter(pk__in=last)}


def expiring(today: date, days: int) -> QuerySet[Lot]:
    """Lots in stock whose best-before is past or comes within so many days, the soonest first."""
    soon = Lot.objects.expiring_by(today + timedelta(days=days))
    return soon.select_related("material").order_by("best_before", "pk")


def lots_of(asked: Iterable[int]) -> list[Lot]:
    """Those lots with their materials, the last received in front. One query."""
    return _labelled(Lot.objects.filter(pk__in=list(asked)))


def lots_to_label(asked: Iterable[int], *, delivery: int | None) -> list[Lot]:
    """The lots asked for and all of a delivery; where none is asked for, those in stock. One query.

    Each says by `asked_for` whether it was.
    """
    wanted = list(asked)
    if not wanted and delivery is None:
        return _labelled(Lot.objects.in_stock().annotate(asked_for=Value(False)))
    lots = Lot.objects.filter(Q(pk__in=wanted) | Q(delivery=delivery, delivery__isnull=False))
    return _labelled(lots.annotate(asked_for=Value(True)))


def _labelled(lots: QuerySet[Lot]) -> list[Lot]:
    return list(
        lots.select_related("material", "delivery__supplier").order_by("-received_on", "-pk")[:MOST_LABELS]
    )


@dataclass(frozen=True, slots=True)
class LotPage:
    """A lot with a page of its movements, how full its container is, and what is odd on its certificate.

    `made_of` and `went_into` are the lots within it and those made here that hold some of it.
    """

    lot: Lot
    movements: Page[Movement]
    bar: Bar
    doubt: SapDoubt | None
    purity_doubt: str
    made_of: list[MadeOf]
    went_into: list[LotPart]


def lot_page(
    lot: Lot, *, today: date, warn_days: int, page: str | int | None = 1, per_page: int = 25
) -> LotPage:
    """The lot's movements, the newest first. `lot` was fetched with its material and delivery."""
    movements = Paginator(movement_rows().filter(lot=lot), per_page).get_page(page)
    return LotPage(
        lot=lot,
        movements=movements,
        bar=draw([lot], None, today=today, warn_by=today + timedelta(days=warn_days)),
        doubt=sap_doubt(lot.material, lot) if lot.sap is not None else None,
        purity_doubt=purity_doubt(lot),
        made_of=made_of(lot),
        went_into=went_into(lot),
    )
