"""The way back: what to add to a pot that is too lye-heavy or too fat.

All weights are grams; superfat is in %.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from shared.ingredients import (
    MAX_GRAMS,
    Acid,
    Alkali,
    Fat,
    Sap,
    check_acids,
    check_alkalis,
    check_fats,
    check_sap,
    check_superfat,
    mol_per_gram,
    nominal_mol,
)
from shared.safety import DEFAULT_LIMITS, Limits, SafetyRange, Verdict, assess

TOO_FAT_BY = 1.0
"""Points of superfat above the aim from which more lye is offered."""
_MAX_SUPERFAT = 30.0
"""%; ``check_superfat`` takes no more."""
_OF_THE_SCALE = 0.3
"""Points of superfat: the steps of the scale do not shrink with the lye."""
_FARTHEST_BELOW = -8.0
"""%; a worst case below it is not carried on to another superfat."""
_FINEST_STEP = 0.01
"""Grams; the step to round to when the scale is taken as exact."""


@dataclass(frozen=True, slots=True)
class FatOnHand:
    """A fat in stock that could go into the pot."""

    name: str
    sap: Sap
    grams_available: float
    lot: str = ""


@dataclass(frozen=True, slots=True)
class Correction:
    """One way back: grams to add, in whole steps of the scale, and the safety range afterwards.

    A fat is rounded up and lye down, each to the mild side. ``enough`` tells whether the stock covers it.
    ``liquid_grams`` is the liquid that goes in with more lye to keep the lye concentration, ``dissolved``
    says that this lye is a ready-made solution.
    """

    kind: Literal["fat", "lye"]
    name: str
    grams: float
    liquid_grams: float
    enough: bool
    after: SafetyRange
    lot: str = ""
    dissolved: bool = False


def correction(
    fats: Sequence[Fat],
    alkalis: Sequence[Alkali],
    acids: Sequence[Acid] = (),
    *,
    superfat: float,
    fat: Sap,
) -> float:
    """Grams of a fat with this saponification value that bring the nominal superfat up to ``superfat`` %.

    Nil when the pot is there already. Not rounded. Raises FormulaError for what cannot be computed.
    """
    check_fats(fats)
    check_alkalis(alkalis)
    check_acids(acids)
    check_superfat(superfat)
    check_sap("Fat to add", fat)
    wanted = _free_mol(alkalis, acids) / (1 - superfat / 100)
    return max((wanted - nominal_mol(fats)) / mol_per_gram(fat.nominal), 0.0)


def superfat_without_lye(worst_low: float, superfat: float) -> float | None:
    """The superfat in % to plan with, so that not even the worst case leaves lye over.

    ``worst_low`` is what comes of planning with ``superfat``, both in %. Rounded up to half a point; None
    where the two are too far apart to tell, or it is more than a recipe can have.
    """
    lye = (1 - superfat / 100) / (1 - worst_low / 100)
    wanted = math.ceil(2 * (100 * (1 - lye) + _OF_THE_SCALE)) / 2
    return wanted if worst_low >= _FARTHEST_BELOW and wanted <= _MAX_SUPERFAT else None


def restore(
    fats: Sequence[Fat],
    alkalis: Sequence[Alkali],
    acids: Sequence[Acid] = (),
    *,
    superfat: float,
    on_hand: Sequence[FatOnHand],
    liquid_grams: float = 0.0,
    scale_step: float = 1.0,
    limits: Limits = DEFAULT_LIMITS,
) -> tuple[Correction, ...]:
    """The ways back to the aimed superfat and a verdict of safe; none when the pot needs none.

    A pot that is not safe gets fat: of each fat on hand that suffices, fewest grams first, or, when none
    suffices, of every one with ``enough`` false. A safe pot more than a point fatter than its aim gets
    lye, as much as keeps it safe. ``liquid_grams`` is the liquid now in the pot.
    """
    pot = _Pot(tuple(fats), tuple(alkalis), tuple(acids), scale_step, limits)
    now = pot.assess()
    check_superfat(superfat)
    if now.verdict is not Verdict.SAFE:
        ways = [way for fat in on_hand for way in _add_fat(pot, fat, superfat)]
        ways = [way for way in ways if way.enough] or ways
        return tuple(sorted(ways, key=lambda way: way.grams))
    if now.nominal > superfat + TOO_FAT_BY:
        return tuple(_add_lye(pot, superfat, liquid_grams))
    return ()


@dataclass(frozen=True, slots=True)
class _Pot:
    fats: tuple[Fat, ...]
    alkalis: tuple[Alkali, ...]
    acids: tuple[Acid, ...]
    scale_step: float
    limits: Limits

    @property
    def step(self) -> float:
        return self.scale_step or _FINEST_STEP

    def weight(self, steps: int) -> float:
        """Grams of so many steps of the scale, without the dust of binary fractions."""
        return round(float(steps * self.step), 6)

    def assess(self) -> SafetyRange:
        return assess(self.fats, self.alkalis, self.acids, scale_step=self.scale_step, limits=self.limits)

    def with_fat(self, fat: FatOnHand, grams: float) -> _Pot:
        return replace(self, fats=(*self.fats, Fat(fat.name, grams, fat.sap, fat.lot)))

    def with_lye(self, alkali: Alkali, grams: float) -> _Pot:
        return replace(self, alkalis=(*self.alkalis, replace(alkali, grams=grams)))


def _free_mol(alkalis: Sequence[Alkali], acids: Sequence[Acid]) -> float:
    return sum(alkali.mol for alkali in alkalis) - sum(acid.mol for acid in acids)


def _add_fat(pot: _Pot, fat: FatOnHand, superfat: float) -> Iterator[Correction]:
    """Whole steps of the scale that reach both the aim and a verdict of safe."""
    target = correction(pot.fats, pot.alkalis, pot.acids, superfat=superfat, fat=fat.sap)

    def safe(steps: int) -> bool:
        return pot.with_fat(fat, pot.weight(steps)).assess().verdict is Verdict.SAFE

    most = math.floor(MAX_GRAMS / pot.step)
    steps = _fewest(safe, at_least=math.ceil(target / pot.step), at_most=most)
    if steps is None:
        return
    grams = pot.weight(steps)
    after = pot.with_fat(fat, grams).assess()
    yield Correction("fat", fat.name, grams, 0.0, grams <= fat.grams_available, after, fat.lot)


def _fewest(suffices: Callable[[int], bool], *, at_least: int, at_most: int) -> int | None:
    """Smallest number of steps that suffices, more of them always sufficing too; None beyond the most."""
    if at_least > at_most:
        return None
    low, high, stride = at_least - 1, at_least, 1
    while not suffices(min(high, at_most)):
        if high >= at_most:
            return None
        low, high, stride = high, high + stride, 2 * stride
    high = min(high, at_most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if suffices(middle) else (middle, high)
    return high


def _add_lye(pot: _Pot, superfat: float, liquid_grams: float) -> Iterator[Correction]:
    """For each alkali in the pot the most whole steps that keep the aim and the verdict of safe."""
    missing = nominal_mol(pot.fats) * (1 - superfat / 100) - _free_mol(pot.alkalis, pot.acids)
    ratio = liquid_grams / sum(alkali.grams for alkali in pot.alkalis)
    tubs = (replace(tub, grams=1.0, step=None) for tub in pot.alkalis if tub.grams > 0)
    for alkali in dict.fromkeys(tubs):
        target = math.floor(missing / alkali.mol / pot.step)

        def too_much(steps: int, alkali: Alkali = alkali) -> bool:
            return pot.with_lye(alkali, pot.weight(steps)).assess().verdict is not Verdict.SAFE

        first_unsafe = _fewest(too_much, at_least=1, at_most=target)
        grams = pot.weight(target if first_unsafe is None else first_unsafe - 1)
        if grams > 0:
            after = pot.with_lye(alkali, grams).assess()
            liquid, name = grams * ratio, alkali.kind.label
            yield Correction("lye", name, grams, liquid, True, after, dissolved=alkali.dissolved)
