"""How sure a superfat is: nominal, likely and worst case, the chance of lye left over, and a verdict.

superfat = 1 - (n_alkali - n_acid) / n_fat, all n in mol. Uncertain are the saponification value of each
fat, the purity of each alkali, and every weighing by half a step of the scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shared.ingredients import (
    Acid,
    Alkali,
    Fat,
    FormulaError,
    Sap,
    check_acids,
    check_alkalis,
    check_fats,
    check_scale_step,
    mol_per_gram,
    nominal_mol,
)
from shared.uncertainty import Term, chance_below, quantile

SCALE = "the scale"
"""Stands in ``SafetyRange.narrows_most`` when finer weighing would narrow the range most."""

_TAIL = 0.025
"""Left out on either side of the likely range, which holds the central 95 %."""

_CLEAR_OF_BOUND = 0.9
"""A pot is safe only below this share of the bound, so that neither the error of the inversion nor a check
by a million random draws (standard error 3 % of a chance of 0.1 %) can find a safe pot above the bound."""


class Verdict(StrEnum):
    SAFE = "safe"
    WATCH = "watch"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Limits:
    """Chances (0 to 1) of lye left over from which a pot is to be watched, and from which it is stopped."""

    watch_from: float = 0.001
    stop_from: float = 0.15

    def verdict(self, chance: float) -> Verdict:
        if chance > self.stop_from:
            return Verdict.STOP
        return Verdict.WATCH if chance > self.watch_from * _CLEAR_OF_BOUND else Verdict.SAFE


DEFAULT_LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class SafetyRange:
    """Superfat figures in %, the chance of lye-heavy from 0 to 1.

    ``standard_uncertainty`` is the combined standard uncertainty of the superfat by JCGM 100 (GUM).
    ``narrows_most`` names the fat, the alkali or the scale whose better knowledge narrows the range most,
    and is empty when nothing is uncertain.
    """

    nominal: float
    likely_low: float
    likely_high: float
    worst_low: float
    worst_high: float
    standard_uncertainty: float
    chance_lye_heavy: float
    verdict: Verdict
    narrows_most: str


@dataclass(frozen=True, slots=True)
class _Input:
    """One uncertain input: its name, and its effect in mol."""

    name: str
    term: Term


@dataclass(frozen=True, slots=True)
class _Side:
    """One side of the balance between fat and lye, in mol of alkali."""

    mean: float
    low: float
    high: float
    inputs: tuple[_Input, ...]

    @property
    def variance(self) -> float:
        return sum(item.term.variance for item in self.inputs)

    @property
    def unlinear(self) -> float:
        """The most by which errors of weighing and purity multiplied exceed the sum of the terms.

        Next to nothing unless the scale is coarse for the pot; the verdict allows for it. On the side of
        the fats, low weights and low values multiplied are milder than their sum.
        """
        return max(self.high - self.mean - sum(item.term.above for item in self.inputs), 0.0)

    def terms(self, factor: float = 1.0) -> list[Term]:
        return [item.term.scaled(factor) for item in self.inputs]


def assess(
    fats: Sequence[Fat],
    alkalis: Sequence[Alkali],
    acids: Sequence[Acid] = (),
    *,
    scale_step: float = 1.0,
    limits: Limits = DEFAULT_LIMITS,
) -> SafetyRange:
    """Safety range of what is in the pot, or is planned to be.

    Weights in grams as weighed, ``scale_step`` in grams. Raises FormulaError when a weight or value makes
    no sense, and when the acids take all the alkali.
    """
    check_fats(fats)
    check_alkalis(alkalis)
    check_acids(acids)
    check_scale_step(scale_step)
    fat = _fat_side(fats, scale_step)
    lye = _lye_side(alkalis, acids, scale_step)
    if not lye.mean > 0:
        raise FormulaError("acids", "The acids take up all the lye, so none is left for the fats.")
    if not fat.low > 0:
        raise FormulaError("fats", "These weights are lost in one step of the scale. Use a finer scale.")
    return _range(nominal_mol(fats), fat, lye, limits)


def _range(nominal: float, fat: _Side, lye: _Side, limits: Limits) -> SafetyRange:
    mean = 1 - lye.mean / fat.mean
    worst_low, worst_high = 1 - lye.high / fat.low, 1 - lye.low / fat.high
    uncertainty = math.sqrt((1 - mean) ** 2 * fat.variance + lye.variance) / fat.mean
    lye_terms = lye.terms()

    def chance_superfat_below(value: float, extra_lye: float = 0.0) -> float:
        """Superfat is below ``value`` when (1 - value) n_fat is less than the free alkali."""
        share = 1 - value
        return chance_below(lye.mean + extra_lye - share * fat.mean, fat.terms(share) + lye_terms)

    def likely(chance: float) -> float:
        if not uncertainty:
            return mean
        return quantile(
            chance_superfat_below,
            chance,
            guess=mean,
            spread=uncertainty,
            low=worst_low,
            high=min(worst_high, 1.0),
        )

    chance = cautious = 0.0
    if worst_low <= 0:
        chance, cautious = chance_superfat_below(0.0), chance_superfat_below(0.0, lye.unlinear)
    return SafetyRange(
        nominal=100 * (1 - lye.mean / nominal),
        likely_low=100 * likely(_TAIL),
        likely_high=100 * likely(1 - _TAIL),
        worst_low=100 * worst_low,
        worst_high=100 * worst_high,
        standard_uncertainty=100 * uncertainty,
        chance_lye_heavy=chance,
        verdict=limits.verdict(cautious),
        narrows_most=_narrows_most(fat, lye),
    )


def _fat_side(fats: Iterable[Fat], scale_step: float) -> _Side:
    weighed = [fat for fat in fats if fat.grams > 0]
    half = scale_step / 2
    lots: dict[tuple[object, ...], list[Fat]] = {}
    for fat in weighed:
        same = (fat.lot or fat.name, fat.sap.low, fat.sap.nominal, fat.sap.high)
        lots.setdefault(same, []).append(fat)
    inputs = [
        _Input(lot[0].name, _sap_term(lot[0].sap, sum(fat.grams for fat in lot))) for lot in lots.values()
    ]
    inputs += [_Input(SCALE, Term.rectangle(half * mol_per_gram(_mean(fat.sap)))) for fat in weighed]
    return _Side(
        mean=sum(fat.grams * mol_per_gram(_mean(fat.sap)) for fat in weighed),
        low=sum(max(fat.grams - half, 0.0) * mol_per_gram(fat.sap.low) for fat in weighed),
        high=sum((fat.grams + half) * mol_per_gram(fat.sap.high) for fat in weighed),
        inputs=tuple(inputs),
    )


def _centred(sap: Sap) -> bool:
    return math.isclose(sap.nominal - sap.low, sap.high - sap.nominal, rel_tol=1e-9, abs_tol=1e-9)


def _mean(sap: Sap) -> float:
    """Expected value: the nominal where it is centred (rectangle), else the mean of the triangle."""
    return sap.nominal if _centred(sap) else (sap.low + sap.nominal + sap.high) / 3


def _sap_term(sap: Sap, grams: float) -> Term:
    if _centred(sap):
        return Term.rectangle(grams * mol_per_gram((sap.high - sap.low) / 2))
    return Term.triangle(
        grams * mol_per_gram(sap.nominal - sap.low), grams * mol_per_gram(sap.high - sap.nominal)
    )


def _lye_side(alkalis: Iterable[Alkali], acids: Iterable[Acid], scale_step: float) -> _Side:
    tubs = [alkali for alkali in alkalis if alkali.grams > 0]
    sours = [acid for acid in acids if acid.grams > 0]
    half = scale_step / 2
    purities: dict[tuple[str, float, float], float] = {}
    for tub in tubs:
        key = (tub.kind.label, tub.purity_low, tub.purity_high)
        purities[key] = purities.get(key, 0.0) + tub.mol_at(1)
    inputs = [
        _Input(name, Term.rectangle(mol * (high - low) / 2)) for (name, low, high), mol in purities.items()
    ]
    inputs += [_Input(SCALE, Term.rectangle(half * tub.mol / tub.grams)) for tub in tubs]
    inputs += [_Input(SCALE, Term.rectangle(half * sour.mol / sour.grams)) for sour in sours]
    return _Side(
        mean=sum(tub.mol for tub in tubs) - sum(sour.mol for sour in sours),
        low=sum(tub.mol_at(tub.purity_low, -half) for tub in tubs) - sum(sour.mol_at(half) for sour in sours),
        high=sum(tub.mol_at(tub.purity_high, half) for tub in tubs)
        - sum(sour.mol_at(-half) for sour in sours),
        inputs=tuple(inputs),
    )


def _narrows_most(fat: _Side, lye: _Side) -> str:
    """The input with the largest share of the variance; all weighings together count as one."""
    share = 1 - lye.mean / fat.mean
    variances: dict[str, float] = {"": 0.0}
    for side, factor in ((fat, (1 - share) ** 2), (lye, 1.0)):
        for item in side.inputs:
            variances[item.name] = variances.get(item.name, 0.0) + factor * item.term.variance
    return max(variances, key=variances.__getitem__)
