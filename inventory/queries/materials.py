"""What is known of one material: its lots, its last movements, where its values came from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Count, Max
from django.db.models.functions import Lower

from inventory.models import Kind, Lot, Material, Movement, Supplier
from inventory.queries.doubts import SapDoubt, SapFromAcids, sap_doubt, sap_from_acids
from inventory.queries.ledger import movement_rows
from inventory.shelf import Shelf, look
from shared.fats import FatReference, reference_fats
from shared.liquids import LiquidReference, reference_liquids


@dataclass(frozen=True, slots=True)
class MaterialPage:
    """A material with its shelf, its last movements and the lot that came last.

    `reference` is what is published of the fat, where the values are still those of the catalogue, and
    `liquid` the same of what a liquid or additive is made of. `doubts` are saponification values, its own and
    those of lots on the shelf, that cannot be right for its acids; `fat_in_it` is the name of the fat in a
    liquid.
    """

    shelf: Shelf
    movements: list[Movement]
    empty_lots: int
    newest: Lot | None
    reference: FatReference | None
    doubts: tuple[SapDoubt, ...]
    from_acids: SapFromAcids | None
    liquid: LiquidReference | None
    fat_in_it: str


def material_page(material: Material, *, today: date, warn_days: int) -> MaterialPage:
    """Everything the material's page shows. `material` was fetched with its supplier."""
    lots = Lot.objects.filter(material=material).select_related("material")
    on_shelf = list(lots.in_stock().to_use_first())
    certified = (lot for lot in on_shelf if lot.sap is not None)
    fat = reference_fats().get(material.fat_reference)
    doubts = (sap_doubt(material), *(sap_doubt(material, lot) for lot in certified))
    return MaterialPage(
        shelf=look(material, on_shelf, today=today, warn_days=warn_days),
        movements=list(movement_rows().filter(lot__material=material)[:8]),
        empty_lots=lots.filter(on_hand=0).count(),
        newest=lots.order_by("-received_on", "-pk").first(),
        reference=published(material),
        doubts=tuple(doubt for doubt in doubts if doubt),
        from_acids=sap_from_acids(material),
        liquid=published_liquid(material),
        fat_in_it=fat.name if fat else "",
    )


def published(material: Material) -> FatReference | None:
    """What is published of a fat of the catalogue; None where the maker has changed its source since."""
    fat = reference_fats().get(material.reference) if material.kind == Kind.FAT else None
    return fat if fat and fat.sap and material.sap_source == fat.sap.source[:300] else None


def published_liquid(material: Material) -> LiquidReference | None:
    """What is published of a liquid or additive of the catalogue; None where its source was changed since."""
    if material.kind not in (Kind.LIQUID, Kind.ADDITIVE) or material.water is None:
        return None
    known = reference_liquids().get(material.reference)
    return known if known and material.composition_source == known.liquid.source[:300] else None


def suppliers(*, search: str = "", page: str | int | None = 1, per_page: int = 25) -> Page[Any]:
    """Suppliers by name, those put away last, each with `delivery_count` and `last_delivery`."""
    found = Supplier.objects.annotate(
        delivery_count=Count("deliveries"), last_delivery=Max("deliveries__received_on")
    )
    if search:
        found = found.filter(name__icontains=search)
    return Paginator(found.order_by("archived", Lower("name")), per_page).get_page(page)
