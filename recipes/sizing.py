"""How many grams of fats a batch takes: at the recipe's own size, or at another that is asked for."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils.translation import gettext

from inventory.models import Kind, Material
from recipes.design import Design, mould_of
from recipes.errors import DesignError
from recipes.models import Destination, PortionBy, SizeBy
from recipes.trial import Trial
from shared.scaling import Amount, Scale, to_bars, to_stock, to_weight

MOST_GRAMS = 1_000_000.0

# A split batter is sized step by step, unrounded: what goes into its portions need not grow with the fats.
MOST_STEPS = 12
CLOSE_ENOUGH = 0.05  # grams of fats
NEAR_ENOUGH = 0.01  # of the fats, where what runs out is so little that its last hundredth decides
FLAT = 0.001  # of each gram, what comes to the wanted size: less is none at all
FINE = Scale(Decimal("0.001"))


@dataclass(frozen=True, slots=True)
class Size:
    """How large to pour, by one of these; by none, as the recipe says. Weights in grams.

    `millilitres` is what the mould holds. `use_up` names materials by id: the batch is as large as what there
    is of the scarcest of them allows.
    """

    bars: int | None = None
    batter: Decimal | None = None
    fats: Decimal | None = None
    millilitres: Decimal | None = None
    use_up: tuple[int, ...] = ()


Missing = Callable[[Trial], float]
"""Grams of fats by which a trial falls short of the size that is wanted; below zero where it is too large."""


@dataclass(frozen=True, slots=True)
class Sizing:
    """A recipe tried out, the scale it is weighed on, and by material id the grams that there are."""

    tried: Trial
    scale: Scale
    on_hand: Mapping[int, Decimal]

    @property
    def design(self) -> Design:
        return self.tried.recipe.design

    def own(self) -> float:
        """Grams of fats at the recipe's own size. Raises DesignError."""
        design = self.design
        if design.size_by == SizeBy.WEIGHTS:
            return float(sum(part.amount for part in design.of(Kind.FAT)))
        if design.size_by == SizeBy.FATS:
            return float(design.size_grams or 0)
        if design.size_by == SizeBy.PORTIONS:
            return self._for_portions()
        if design.size_by == SizeBy.BATTER:
            return self._fitted(_weighing(float(design.size_grams or 0)))
        mould = mould_of(design)
        return self._fitted(_filling(mould.vessel.volume_at(float(mould.height or 0))))

    def at(self, size: Size) -> float:
        """Grams of fats at the size that is asked for. Raises DesignError for none or for tons."""
        wanted = self._wanted(size)
        if not 0 < wanted <= MOST_GRAMS:
            field = "fats" if self.design.by_weight else "size_grams"
            raise DesignError(field, gettext("A batch takes more than nothing and at most 1000 kg of fats."))
        return wanted

    def _wanted(self, size: Size) -> float:
        if size.fats is not None:
            return float(size.fats)
        own = self.own()
        if size.bars is not None:
            return own * to_bars(self.design.bars, size.bars)
        if size.batter is not None:
            return self._fitted(_weighing(float(size.batter)), own)
        if size.millilitres is not None:
            return self._fitted(_filling(float(size.millilitres)), own)
        if size.use_up:
            return self._fitted(self._using_up(size.use_up), own)
        return own

    def _fitted(self, missing: Missing, own: float | None = None) -> float:
        """Grams of fats at which nothing is missing. Raises DesignError where no size of the batter does it.

        By the secant method: what is missing changes in a straight line with the fats.
        """
        if not self.design.portions:
            return self.tried.fats + missing(self.tried)
        fats = own or self.tried.fats + missing(self.tried) + self._elsewhere()
        before, was_missing = 0.0, math.inf
        for _ in range(MOST_STEPS):
            made = self.tried.sized(fats, fats / (own or fats))
            more = missing(replace(made, split=made.split_into(FINE, made.batter)))
            if abs(more) < CLOSE_ENOUGH:
                break
            slope = (was_missing - more) / (fats - before)
            if slope < FLAT:
                break
            before, was_missing = fats, more
            fats += more if math.isinf(slope) else more / slope
        if abs(more) > NEAR_ENOUGH * fats:
            words = gettext("No weight of batter comes to this size. Let the rest of it go into the mould.")
            raise DesignError("portions", words)
        return fats

    def _elsewhere(self) -> float:
        """Grams of fats in what is given by weight and does not go into the mould: it comes on top."""
        grams = sum(
            portion.size or 0
            for portion in self.design.portions
            if portion.size_by == PortionBy.GRAMS and portion.destination != Destination.MOULD
        )
        return float(grams) * self.tried.fats / self.tried.batter

    def _for_portions(self) -> float:
        """As much as portions that say their weight or their height need."""
        needed = self.tried.split_into(self.scale, None).batter
        return self.tried.fats * float(needed) / self.tried.batter

    def _using_up(self, materials: Collection[int]) -> Missing:
        def missing(made: Trial) -> float:
            amounts = [
                Amount(material.name, grams, self._held(material) if material.pk in materials else None)
                for material, grams in made.takes
            ]
            return (to_stock(amounts, self.scale).factor - 1) * made.fats

        return missing

    def _held(self, material: Material) -> float:
        return float(self.on_hand.get(material.pk, 0))


def _weighing(grams: float) -> Missing:
    def missing(made: Trial) -> float:
        amounts = [Amount(material.name, weight) for material, weight in made.takes]
        return (to_weight(amounts, grams) - 1) * made.fats

    return missing


def _filling(millilitres: float) -> Missing:
    def missing(made: Trial) -> float:
        return (millilitres - made.moulded_ml) * made.density.mean * made.fats / made.batter

    return missing
