"""A design as the calculations take it: what goes into the pot for so many grams of fats."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.models import Kind, Lot, Material
from recipes.design import Design, Part, purity_of, sap_of
from recipes.models import Stage
from shared.chemistry import AcidKind, AlkaliKind
from shared.ingredients import Acid, AlkaliChoice, Fat, FatKind, Sap
from shared.liquids import Liquid
from shared.saponification import Formula, LiquidMethod, LiquidPart, LiquidScope

OF_FATS = frozenset({Kind.ADDITIVE, Kind.COLOUR, Kind.FRAGRANCE})


@dataclass(frozen=True, slots=True)
class Recipe:
    """A checked design with the lots it is worked out by, by material id."""

    design: Design
    lots: Mapping[int, Lot]

    @property
    def liquids(self) -> tuple[Part, ...]:
        """What is made up to the stated liquid, then what brings some and goes by the weight of the fats."""
        bringing = (part for part in self._by_fats() if part.material.contents)
        return (*self.design.of(Kind.LIQUID), *bringing)

    @property
    def acids(self) -> tuple[Part, ...]:
        return tuple(part for part in self._by_fats() if part.material.acid and not part.material.contents)

    @property
    def inert(self) -> tuple[Part, ...]:
        """What takes no lye and counts as no liquid: fragrance, colour, most additives."""
        reacting = {*self.acids, *self.liquids}
        return tuple(part for part in self._by_fats() if part not in reacting)

    @property
    def dry(self) -> tuple[Part, ...]:
        """All that goes into the whole batter and is neither fat, alkali nor liquid.

        Where the batter is split, fragrance goes into the portions.
        """
        inert = self.inert
        if self.design.portions:
            inert = tuple(part for part in inert if part.kind != Kind.FRAGRANCE)
        return (*self.acids, *inert)

    def formula(self, fat_grams: float) -> Formula:
        """The recipe for so many grams of fats in all. Raises DesignError where a value is missing."""
        design = self.design
        return Formula(
            fats=self._fats(design.cooked, fat_grams),
            alkalis=tuple(self._alkali(part) for part in design.of(Kind.ALKALI)),
            superfat=float(design.superfat),
            liquid_method=LiquidMethod(design.liquid_by),
            liquid_value=float(design.liquid_value),
            acids=tuple(
                Acid(AcidKind(part.material.acid), of_fats(part, fat_grams), part.material.acid_percent)
                for part in self.acids
            ),
            liquids=self._liquid_parts(fat_grams),
            liquid_scope=LiquidScope(design.liquid_scope),
            after_cook=self._fats(design.after_cook, fat_grams),
        )

    def grams_of_fats(self, parts: Iterable[Part], fat_grams: float) -> list[float]:
        total = float(sum(part.amount for part in self.design.of(Kind.FAT)))
        return [fat_grams * float(part.amount) / total for part in parts]

    def sap(self, part: Part) -> Sap:
        lot = self.lots.get(part.material.pk)
        certified = lot.saponification_value if lot and lot.sap is not None else None
        return certified or sap_of(part)

    def purity(self, part: Part) -> tuple[float, float]:
        lot = self.lots.get(part.material.pk)
        certified = lot.purity_range if lot and lot.purity is not None else None
        return certified or purity_of(part)

    def _by_fats(self) -> Iterable[Part]:
        return (part for part in self.design.parts if part.kind in OF_FATS)

    def _fats(self, parts: tuple[Part, ...], fat_grams: float) -> tuple[Fat, ...]:
        weights = self.grams_of_fats(parts, fat_grams)
        return tuple(
            Fat(part.material.name, grams, self.sap(part), kind=fat_kind(part.material))
            for part, grams in zip(parts, weights, strict=True)
        )

    def _alkali(self, part: Part) -> AlkaliChoice:
        low, high = self.purity(part)
        material = part.material
        return AlkaliChoice(AlkaliKind(material.alkali), low, high, float(part.amount), material.dissolved)

    def _liquid_parts(self, fat_grams: float) -> tuple[LiquidPart, ...]:
        return tuple(
            LiquidPart(liquid_of(part.material), share=float(part.amount), at_trace=goes_in_at_trace(part))
            if part.kind == Kind.LIQUID
            else LiquidPart(
                liquid_of(part.material), grams=of_fats(part, fat_grams), at_trace=goes_in_at_trace(part)
            )
            for part in self.liquids
        )


def liquid_of(material: Material) -> Liquid:
    """What it is made of; a liquid of which nothing is known counts as water."""
    return material.contents or Liquid(material.name, 100.0)


def fat_kind(material: Material) -> FatKind:
    known = material.published
    if material.fat_kind:
        return FatKind(material.fat_kind)
    return known.kind if known else FatKind.TRIGLYCERIDE


def goes_in_at_trace(part: Part) -> bool:
    return part.stage == Stage.TRACE if part.kind == Kind.LIQUID else part.stage != Stage.LYE


def of_fats(part: Part, fat_grams: float) -> float:
    return fat_grams * float(part.amount) / 100
