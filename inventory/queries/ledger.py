"""The ledger as it is read: movements with whom, what for and whether they were taken back."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Count, Q, QuerySet

from inventory.models import Delivery, Material, Movement


def movement_rows() -> QuerySet[Movement]:
    """All movements, the newest first, with everything a row shows."""
    related = ("lot__material", "by", "reverses", "reversed_by")
    return Movement.objects.select_related(*related).order_by("-at", "-pk")


def ledger(
    *, material: Material | None = None, kind: str = "", page: str | int | None = 1, per_page: int = 40
) -> Page[Movement]:
    """A page of the ledger, of one material or of one kind of movement where asked."""
    wanted = Q()
    if material is not None:
        wanted &= Q(lot__material=material)
    if kind:
        wanted &= Q(kind=kind)
    return Paginator(movement_rows().filter(wanted), per_page).get_page(page)


def deliveries(page: str | int | None = 1, *, per_page: int = 25) -> Page[Any]:
    """Deliveries, the newest first, each with `lot_count`, how many lots it brought."""
    found = Delivery.objects.select_related("supplier").annotate(lot_count=Count("lots"))
    return Paginator(found.order_by("-received_on", "-pk"), per_page).get_page(page)
