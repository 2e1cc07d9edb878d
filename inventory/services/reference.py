"""The catalogue a workshop begins with: the reference fats, the two alkalis, water."""

from __future__ import annotations

from decimal import Decimal

from django.db import transaction

from inventory.models import Kind, Material
from shared.chemistry import AlkaliKind
from shared.fats import FatReference, reference_fats
from shared.ingredients import Sap

# As suppliers sell it, in % m/m: common practice, from memory. Sodium hydroxide goes up to what nothing can
# exceed, so that a strong lot is never taken for a weaker one.
PURITIES = {
    AlkaliKind.NAOH: (Decimal(97), Decimal(100)),
    AlkaliKind.KOH: (Decimal(85), Decimal(92)),
}


@transaction.atomic
def load_reference_fats() -> int:
    """Add what the catalogue lacks and return how many were added.

    Runs as often as one likes: what is there already, under its key or its name, stays as the maker has it.
    """
    keys = set(Material.objects.exclude(reference="").values_list("reference", flat=True))
    names = {name.casefold() for name in Material.objects.values_list("name", flat=True)}
    missing = [
        material
        for material in [*_fats(), *_alkalis(), _water()]
        if material.reference not in keys and material.name.casefold() not in names
    ]
    Material.objects.bulk_create(missing)
    return len(missing)


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
        sap_source=sap.source[:300],
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


def _water() -> Material:
    return Material(
        kind=Kind.LIQUID,
        reference="water",
        name="Water, distilled",
        inci_name="Aqua",
        density=Decimal("0.9982"),
    )
