"""How much batter a mould holds. Millimetres in, millilitres and grams out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from shared.heat import table, water_density
from shared.ingredients import Alkali
from shared.tables import interpolate
from shared.words import Phrase

SMALLEST_MM: Final = 1.0
LARGEST_MM: Final = 2000.0
FAT_DENSITY: Final = 0.91
"""g/mL, where a fat's own density is not known: the middle of the reference fats, most of which lie
between 0.88 and 0.93."""


class MouldError(ValueError):
    """A mould or batter that cannot be; ``field`` says which figure."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


class Part(NamedTuple):
    """One part of a batter: grams, and density in g/mL."""

    grams: float
    density: float


@dataclass(frozen=True, slots=True)
class Vessel:
    """The inside of a mould: mean area in mm2 of a level of batter in it, and how deep it is in mm.

    Raises MouldError for a depth outside 1 mm to 2 m, and for an area of nothing or over 4 m2.
    """

    area_mm2: float
    depth_mm: float

    def __post_init__(self) -> None:
        if not SMALLEST_MM <= self.depth_mm <= LARGEST_MM:
            raise MouldError("depth", Phrase("The depth must lie between 1 mm and 2 m."))
        if not 0 < self.area_mm2 <= LARGEST_MM**2:
            raise MouldError("area", Phrase("Inside its liner the mould must hold something, up to 4 m²."))

    @property
    def volume_ml(self) -> float:
        """Filled to the brim."""
        return self.volume_at(self.depth_mm)

    def volume_at(self, height_mm: float) -> float:
        """Millilitres up to so many mm."""
        return self.area_mm2 * height_mm / 1000

    def height_of(self, millilitres: float) -> float:
        """Up to how many mm so many millilitres stand; it may be more than the depth."""
        return millilitres * 1000 / self.area_mm2


def box(length_mm: float, width_mm: float, depth_mm: float, *, liner_mm: float = 0.0) -> Vessel:
    """A loaf or slab mould, its sides and floor lined. Raises MouldError for sides outside 1 mm to 2 m."""
    box_volume_ml(length_mm, width_mm, depth_mm)
    return Vessel((length_mm - 2 * liner_mm) * (width_mm - 2 * liner_mm), depth_mm - liner_mm)


def tube(diameter_mm: float, depth_mm: float, *, liner_mm: float = 0.0) -> Vessel:
    """A tube that stands upright."""
    return Vessel(math.pi * (diameter_mm / 2 - liner_mm) ** 2, depth_mm - liner_mm)


def weighed_with_water(millilitres: float, depth_mm: float) -> Vessel:
    """Any shape, by the water that fills it to the brim and how deep it is."""
    return Vessel(millilitres * 1000 / depth_mm, depth_mm)


def box_volume_ml(length_mm: float, width_mm: float, height_mm: float) -> float:
    """Inner volume of a box in mL. Raises MouldError outside 1 mm to 2 m."""
    for field, side, words in (
        ("length", length_mm, Phrase("The length must lie between 1 mm and 2 m.")),
        ("width", width_mm, Phrase("The width must lie between 1 mm and 2 m.")),
        ("height", height_mm, Phrase("The height must lie between 1 mm and 2 m.")),
    ):
        if not SMALLEST_MM <= side <= LARGEST_MM:
            raise MouldError(field, words)
    return length_mm * width_mm * height_mm / 1000


def lye_solution_density(alkalis: Sequence[Alkali], liquid_grams: float) -> float:
    """Density of the lye in g/mL at 20 °C, its liquid counted as water; a lye solution brings its own.

    Straight lines between the points for NaOH (CRC Handbook) and KOH (Laliberte and Cooper 2004), the two
    alkalis by weight; stronger than 50 % m/m as at 50 %. Raises MouldError without any liquid or for
    negative weights.
    """
    brought = sum(alkali.water for alkali in alkalis)
    liquid_grams += brought
    alkali_grams = sum(alkali.grams for alkali in alkalis) - brought
    if not (liquid_grams > 0 and math.isfinite(liquid_grams) and 0 <= alkali_grams < math.inf):
        raise MouldError("liquid", Phrase("Lye needs liquid: give its weight in grams."))
    water = water_density(20)
    if not alkali_grams:
        return water
    concentration = 100 * alkali_grams / (alkali_grams + liquid_grams)
    weighted = sum(
        (alkali.grams - alkali.water)
        * interpolate(((0.0, water), *table("density", alkali.kind)), concentration)
        for alkali in alkalis
    )
    return weighted / alkali_grams


def batter_density(parts: Iterable[Part]) -> float:
    """Density of a batter in g/mL, as if its parts neither shrank nor swelled on mixing.

    Raises MouldError for an empty batter and for weights or densities that make no sense.
    """
    grams = volume = 0.0
    for part in parts:
        if not (0 <= part.grams < math.inf and 0 < part.density < math.inf):
            raise MouldError(
                "parts", Phrase("Each part of the batter needs a weight and a density above zero.")
            )
        grams += part.grams
        volume += part.grams / part.density
    if not grams:
        raise MouldError("parts", Phrase("There is nothing in the batter."))
    return grams / volume
