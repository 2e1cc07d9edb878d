"""What a design comes to at one size: the lines of the card, and the figures that go with them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Kind, Lot, Material
from recipes.design import Design, Part
from shared.liquids import Liquid
from shared.lye_estimate import LyeEstimate
from shared.saponification import Formulation, SafetyRange, Sap


@dataclass(frozen=True, slots=True)
class WeighLine:
    """One line of the card. `grams` is rounded once to the scale's step; of packaging it is pieces.

    `share` is per cent: of all fats, but of the liquid for a liquid and by mol of the alkali for an alkali;
    of packaging it is pieces for a bar. `exact` is unrounded. `fine` says that the scale cannot show it.
    `sap`, `purity` and `lot` tell what a fat or an alkali was worked out with, `liquid` what a liquid, or an
    additive of which that is known, is made of.
    """

    part: Part
    grams: Decimal
    share: Decimal
    exact: float
    fine: bool = False
    sap: Sap | None = None
    purity: tuple[float, float] | None = None
    lot: Lot | None = None
    liquid: Liquid | None = None

    @property
    def material(self) -> Material:
        return self.part.material

    @property
    def kind(self) -> Kind:
        return self.part.kind


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """A design at one size. `lines` are in weighing order; `scale` is the size against the recipe's own.

    The alkalis of `formulation` are unrounded; its safety range is that of the rounded weights.
    """

    design: Design
    lines: tuple[WeighLine, ...]
    formulation: Formulation
    heat: LyeEstimate
    bars: int
    scale: float

    def of(self, *kinds: Kind) -> tuple[WeighLine, ...]:
        return tuple(line for line in self.lines if line.kind in kinds)

    @property
    def safety(self) -> SafetyRange:
        return self.formulation.safety

    @property
    def weighed_lines(self) -> tuple[WeighLine, ...]:
        """The lines of what goes into the pot: all but packaging."""
        return tuple(line for line in self.lines if line.kind != Kind.PACKAGING)

    @property
    def fat_grams(self) -> Decimal:
        return _sum(self.of(Kind.FAT))

    @property
    def batter_grams(self) -> Decimal:
        return _sum(self.weighed_lines)

    @property
    def bar_grams(self) -> Decimal:
        """Weight of a fresh bar, before it loses water on the rack."""
        return self.batter_grams / self.bars


def _sum(lines: Iterable[WeighLine]) -> Decimal:
    return sum((line.grams for line in lines), Decimal(0))
