"""A workshop ready to pour: four fats with published ranges, lye, water, a fragrance."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import uuid4

from django.utils import timezone

from batches.models import Batch
from batches.services.plan import plan_batch
from inventory.models import Kind, Lot, Material
from recipes.design import Design, Part
from recipes.formulation import Size
from recipes.models import LiquidBy, SizeBy, Version
from recipes.services import create_recipe
from soapshop.core.models import User
from tests.factories import LotFactory, MaterialFactory, UserFactory

# (low, nominal, high) mg KOH/g. Olive: Codex CXS 33-1981 (recalled); coconut and palm: Codex CXS 210-1999;
# castor: British Pharmacopoeia 1993. Nominal: the middle.
SAPS = {
    "Olive oil": (184, 190, 196),
    "Coconut oil": (248, "256.5", 265),
    "Palm oil": (190, "199.5", 209),
    "Castor oil": (176, "181.5", 187),
}
SHARES = {"Olive oil": 45, "Coconut oil": 25, "Palm oil": 25, "Castor oil": 5}


@dataclass(frozen=True)
class Bench:
    """Materials and lots by name; 5 kg in each lot unless said otherwise."""

    maker: User
    version: Version
    materials: dict[str, Material]
    lots: dict[str, Lot]

    def plan(self, *, size: Size | None = None, version: Version | None = None) -> Batch:
        return plan_batch(
            version=version or self.version,
            size=size or Size(),
            planned_for=timezone.localdate(),
            key=uuid4(),
            by=self.maker,
        )

    def on_hand(self, name: str) -> Decimal:
        return Lot.objects.get(pk=self.lots[name].pk).on_hand

    def lot(self, name: str, *, quantity: int = 5000, best_before: date | None = None) -> Lot:
        """Another lot of a material."""
        return LotFactory(
            material=self.materials[name], quantity=quantity, best_before=best_before, by=self.maker
        )


def bench(*, superfat: int = 5, fats: int = 1000, quantity: int = 5000) -> Bench:
    """1 kg of fats in four, 33 % lye, 2 % fragrance, ten bars; one lot of each."""
    maker = UserFactory()
    materials = {
        name: MaterialFactory(name=name, sap_low=low, sap_nominal=Decimal(nominal), sap_high=high)
        for name, (low, nominal, high) in SAPS.items()
    }
    materials["Lye"] = MaterialFactory(name="Lye", naoh=True)
    materials["Water"] = MaterialFactory(name="Water", liquid=True)
    materials["Scent"] = MaterialFactory(name="Scent", fragrance=True)
    lots = {name: LotFactory(material=each, quantity=quantity, by=maker) for name, each in materials.items()}
    return Bench(maker, recipe(materials, by=maker, superfat=superfat, fats=fats), materials, lots)


def recipe(
    materials: dict[str, Material], *, by: User, superfat: int = 5, fats: int = 1000, name: str = "Four oils"
) -> Version:
    amounts = {**SHARES, "Lye": 100, "Water": 100, "Scent": 2}
    design = Design(
        superfat=Decimal(superfat),
        liquid_by=LiquidBy.CONCENTRATION,
        liquid_value=Decimal(33),
        size_by=SizeBy.FATS,
        size_grams=Decimal(fats),
        mould=None,
        bars=10,
        parts=tuple(Part(materials[each], Decimal(amount)) for each, amount in amounts.items()),
    )
    return create_recipe(name=name, design=design, cure_days=28, by=by)


def fats_of(batch: Batch) -> list[str]:
    return [line.material.name for line in batch.lines.all() if line.kind == Kind.FAT]
