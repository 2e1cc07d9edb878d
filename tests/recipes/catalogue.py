"""Fats of the catalogue, for the tests of blends and swaps. What they cost is invented."""

from __future__ import annotations

from decimal import Decimal

from inventory.models import Material
from shared.fats import reference_fats
from tests.factories import LotFactory, MaterialFactory


def fat(key: str, cost: int | None = None, quantity: int = 1000, **lot: object) -> Material:
    """A fat of the catalogue, with a lot of 1 kg at that cost where one is given."""
    reference = reference_fats()[key]
    sap = {f"sap_{end}": Decimal(str(getattr(reference.sap, end))) for end in ("low", "nominal", "high")}
    material = MaterialFactory(name=reference.name, reference=key, inci_name=reference.inci_name, **sap)
    if cost is not None:
        LotFactory(material=material, quantity=quantity, cost=cost, **lot)
    return material
