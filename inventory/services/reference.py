"""The catalogue a workshop begins with: fats, alkalis, liquids, additives and acids, with their sources."""

from __future__ import annotations

from decimal import Decimal
from typing import TypedDict

from django.db import transaction

from inventory.models import Kind, Material
from shared.chemistry import AcidKind, AlkaliKind
from shared.fats import FatReference, reference_fats
from shared.ingredients import Sap
from shared.liquids import WATER, LiquidReference, reference_liquids

# As suppliers sell it, in % m/m: common practice, from memory. Sodium hydroxide goes up to what nothing can
# exceed, so that a strong lot is never taken for a weaker one.
PURITIES = {
    AlkaliKind.NAOH: (Decimal(97), Decimal(100)),
    AlkaliKind.KOH: (Decimal(85), Decimal(92)),
}


# Pure acids as they are sold, with INCI names. Lactic acid comes as a solution, whose figures are common
# practice, from memory. Acetic acid comes as vinegar, which stands among the liquids: next to pure, it burns.
ACIDS = {
    AcidKind.CITRIC: (AcidKind.CITRIC.label, "Citric Acid", None),
    AcidKind.CITRIC_MONOHYDRATE: (AcidKind.CITRIC_MONOHYDRATE.label, "Citric Acid", None),
    AcidKind.LACTIC: ("Lactic acid, 80 % solution", "Lactic Acid", Decimal(80)),
}
KEPT = 300


class ContentFields(TypedDict):
    """What a material keeps of its contents, in g per 100 g."""

    water: Decimal | None
    fat: Decimal
    fat_low: Decimal | None
    fat_high: Decimal | None
    fat_reference: str
    sugar: Decimal
    salt: Decimal
    alcohol: Decimal
    acid: str
    acid_least: Decimal | None
    composition_source: str


@transaction.atomic
def load_catalogue() -> int:
    """Add what the catalogue lacks and return how many were added.

    Runs as often as one likes: what is there already, under its key or its name, stays as the maker has it.
    Only water that was loaded before its contents were known is told that it is all water.
    """
    _fill_in_water()
    keys = set(Material.objects.exclude(reference="").values_list("reference", flat=True))
    names = {name.casefold() for name in Material.objects.values_list("name", flat=True)}
    missing = [
        material
        for material in [*_fats(), *_alkalis(), *_liquids(), *_acids()]
        if material.reference not in keys and material.name.casefold() not in names
    ]
    Material.objects.bulk_create(missing)
    return len(missing)


def _fill_in_water() -> None:
    Material.objects.filter(kind=Kind.LIQUID, reference="water", water__isnull=True).update(
        water=Decimal(100), composition_source=WATER.source
    )


def _fats() -> list[Material]:
    """Waxes are left out: in a cold process they hardly react, and their lye would stay in the bar."""
    return [_fat(fat, fat.sap) for fat in reference_fats().values() if fat.reacts_cold and fat.sap]


def _fat(fat: FatReference, sap: Sap) -> Material:
    return Material(
        kind=Kind.FAT,
        reference=fat.key,
        name=fat.name,
        inci_name=fat.inci_name,
        density=None if fat.density is None else Decimal(f"{fat.density:.4f}"),
        sap_low=_hundredths(sap.low),
        sap_nominal=_hundredths(sap.nominal),
        sap_high=_hundredths(sap.high),
        sap_source=sap.source[:KEPT],
    )


def _hundredths(value: float) -> Decimal:
    return Decimal(f"{value:.2f}")


def _alkalis() -> list[Material]:
    return [
        Material(
            kind=Kind.ALKALI,
            reference=alkali.value,
            name=alkali.label,
            inci_name=alkali.label,
            alkali=alkali.value,
            purity_low=low,
            purity_high=high,
            note="Purity as suppliers usually state it: common practice. A lot's certificate goes before it.",
        )
        for alkali, (low, high) in PURITIES.items()
    ]


def _liquids() -> list[Material]:
    """Liquids, and the additives whose contents are published."""
    return [_liquid(each) for each in reference_liquids().values()]


def _liquid(known: LiquidReference) -> Material:
    water = known.key == "water"
    return Material(
        kind=Kind.ADDITIVE if known.additive else Kind.LIQUID,
        reference=known.key,
        name="Water, distilled" if water else known.liquid.name,
        inci_name=known.inci_name,
        density=Decimal("0.9982") if water else None,
        **contents_of(known),
    )


def contents_of(known: LiquidReference) -> ContentFields:
    """The contents of a liquid of the table, as a material keeps them."""
    liquid = known.liquid
    return {
        "water": _thousandths(liquid.water),
        "fat": _thousandths(liquid.fat),
        "fat_low": _thousandths(liquid.fat_low) if liquid.sap else None,
        "fat_high": _thousandths(liquid.fat_high) if liquid.sap else None,
        "fat_reference": liquid.fat_reference,
        "sugar": _thousandths(liquid.sugar),
        "salt": _thousandths(liquid.salt),
        "alcohol": _thousandths(liquid.alcohol),
        "acid": liquid.acid.value if liquid.acid else "",
        "acid_least": _thousandths(liquid.acid_least) if liquid.acid else None,
        "composition_source": liquid.source[:KEPT],
    }


def _thousandths(value: float) -> Decimal:
    return Decimal(f"{value:.3f}")


def _acids() -> list[Material]:
    return [
        Material(
            kind=Kind.ADDITIVE,
            reference=acid.value,
            name=name,
            inci_name=inci_name,
            acid=acid.value,
            acid_least=percent,
            water=None if percent is None else 100 - percent,
            composition_source="" if percent is None else "As it is usually sold: common practice, no source",
        )
        for acid, (name, inci_name, percent) in ACIDS.items()
    ]
