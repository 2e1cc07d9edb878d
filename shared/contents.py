"""What goes into the pot, with the names it has in a list of ingredients. Weights are grams."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from shared.chemistry import AlkaliKind
from shared.fats import FatReference
from shared.ingredients import Acid, Alkali, Fat
from shared.liquids import Liquid

_ACTUAL_SHARE: Final = 0.5
"""Of the published limit of unsaponifiable matter, as for the nominal saponification values."""


@dataclass(frozen=True, slots=True)
class SoapNames:
    """How a fat and its soaps are called in a list of ingredients; "" where that is not known."""

    fat: str = ""
    sodium_soap: str = ""
    potassium_soap: str = ""

    @classmethod
    def of(cls, reference: FatReference) -> SoapNames:
        return cls(reference.inci_name, reference.inci_sodium_soap, reference.inci_potassium_soap)

    def soap(self, alkali: AlkaliKind) -> str:
        return self.sodium_soap if alkali is AlkaliKind.NAOH else self.potassium_soap


NO_NAMES: Final = SoapNames()


@dataclass(frozen=True, slots=True)
class PotFat:
    """A fat in the pot. ``unsaponifiable`` is in g per kg, ``names`` are for the list of ingredients."""

    fat: Fat
    unsaponifiable: float = 0.0
    names: SoapNames = NO_NAMES

    @classmethod
    def of(cls, fat: Fat, reference: FatReference) -> PotFat:
        """With the names and half the most unsaponifiable matter of the table of fats."""
        return cls(fat, _ACTUAL_SHARE * (reference.unsaponifiable_max or 0.0), SoapNames.of(reference))


@dataclass(frozen=True, slots=True)
class PotLiquid:
    """So many grams of a liquid or of an additive; ``fat_names`` are those of the fat in it."""

    liquid: Liquid
    grams: float
    inci_name: str = ""
    fat_names: SoapNames = NO_NAMES


@dataclass(frozen=True, slots=True)
class Extra:
    """Something that neither reacts nor holds water: fragrance, colour, clay."""

    name: str
    grams: float
    inci_name: str = ""


@dataclass(frozen=True, slots=True)
class Contents:
    """All that goes into the pot; ``after_cook`` are fats of a hot process that go in when it is soap."""

    fats: tuple[PotFat, ...]
    alkalis: tuple[Alkali, ...]
    acids: tuple[Acid, ...] = ()
    liquids: tuple[PotLiquid, ...] = ()
    extras: tuple[Extra, ...] = ()
    after_cook: tuple[PotFat, ...] = ()

    @property
    def all_fats(self) -> tuple[PotFat, ...]:
        return (*self.fats, *self.after_cook)

    @property
    def grams(self) -> float:
        return sum(grams for _, grams in self.weights())

    def weights(self) -> Iterator[tuple[str, float]]:
        """Everything that was weighed, by name."""
        yield from ((part.fat.name, part.fat.grams) for part in self.all_fats)
        yield from ((alkali.kind.label, alkali.grams) for alkali in self.alkalis)
        yield from ((acid.kind.label, acid.grams) for acid in self.acids)
        yield from ((part.liquid.name, part.grams) for part in self.liquids)
        yield from ((extra.name, extra.grams) for extra in self.extras)
