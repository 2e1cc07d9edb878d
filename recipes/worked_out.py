"""What a design comes to at one size: the lines of the card, and the figures that go with them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Kind, Lot, Material
from recipes.design import Design, Part
from recipes.models import Stage
from recipes.splitting import Split
from shared.density import Learned
from shared.liquids import Liquid
from shared.lye_estimate import LyeEstimate
from shared.saponification import Formulation, SafetyRange, Sap


@dataclass(frozen=True, slots=True)
class WeighLine:
    """One line of the card. `grams` is rounded once to the scale's step; of what is counted it is pieces.

    `share` is per cent: of all fats, but of the liquid for a liquid and by mol of the alkali for an alkali;
    of what is counted it is pieces for a bar, of a topping grams for a bar. `exact` is unrounded. `fine` says
    that the scale cannot show it.
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

    `split` tells what of the batter goes into which jug, where it is split; `density` is that of the batter.

    The alkalis of `formulation` are unrounded; its safety range is that of the rounded weights.
    """

    design: Design
    lines: tuple[WeighLine, ...]
    formulation: Formulation
    heat: LyeEstimate
    bars: int
    scale: float
    density: Learned
    split: Split | None = None

    def of(self, *kinds: Kind) -> tuple[WeighLine, ...]:
        return tuple(line for line in self.lines if line.kind in kinds)

    @property
    def safety(self) -> SafetyRange:
        return self.formulation.safety

    @property
    def weighed_lines(self) -> tuple[WeighLine, ...]:
        """What is noted while the batch is made: all but packaging."""
        return tuple(line for line in self.lines if line.kind != Kind.PACKAGING)

    @property
    def pot_lines(self) -> tuple[WeighLine, ...]:
        """What goes into the pot or into a jug, and becomes batter."""
        return tuple(line for line in self.weighed_lines if line.part.stage != Stage.TOP)

    @property
    def fat_grams(self) -> Decimal:
        return _sum(self.of(Kind.FAT))

    @property
    def batter_grams(self) -> Decimal:
        return _sum(self.pot_lines)

    @property
    def bar_grams(self) -> Decimal:
        """Weight of a fresh bar without what is set on top, before it loses water on the rack."""
        return self.moulded_grams / self.bars

    @property
    def moulded_grams(self) -> Decimal:
        """What goes into the mould, without what is set on top."""
        return self.split.moulded if self.split else self.batter_grams

    @property
    def stands_mm(self) -> float | None:
        """How high it stands in the mould, or in each of as many as the batch takes; None without a mould."""
        if self.design.mould is None:
            return None
        millilitres = float(self.moulded_grams) / self.density.mean / self.scale
        return self.design.mould.vessel.height_of(millilitres)


def _sum(lines: Iterable[WeighLine]) -> Decimal:
    return sum((line.grams for line in lines), Decimal(0))
