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
from shared.words import Phrase

SCALE = "the scale"
"""Stands in ``SafetyRange.narrows_most`` when finer weighing would narrow the range most."""

_TAIL = 0.025
"""Left out on either side of the likely range, which holds the central 95 %."""

_CLEAR_OF_BOUND = 0.9
"""A pot is safe only below this share of the bound, so that neither the error of the inversion nor a check
by a million random draws (standard error 3 % of a chance of 0.1 %) can find a safe pot above the bound."""

_FARTHEST_Z = 3.0
"""Standard uncertainties from the mean beyond which the bend of the balance is not carried on."""


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
class _Group:
    """Weighings that share one uncertain value, the saponification value of a lot or the purity of a tub.

    Terms and ``mol`` are in mol of alkali.
    """

    name: str
    value: Term
    weighings: tuple[Term, ...]
    mol: float

    @property
    def product(self) -> float:
        """Variances of value and weighings multiplied, per mol: see ``_bend``."""
        return self.value.variance * sum(term.variance for term in self.weighings) / self.mol


@dataclass(frozen=True, slots=True)
class _Side:
    """One side of the balance between fat and lye, in mol of alkali."""

    mean: float
    low: float
    high: float
    groups: tuple[_Group, ...]

    @property
    def terms(self) -> list[Term]:
        return [term for group in self.groups for term in (group.value, *group.weighings)]

    @property
    def variance(self) -> float:
        return sum(term.variance for term in self.terms)

    @property
    def product(self) -> float:
        return sum(group.product for group in self.groups)

    @property
    def unlinear(self) -> float:
        """The most by which errors of weighing and purity multiplied exceed the sum of the terms.

        Next to nothing unless the scale is coarse for the pot; the verdict allows for it. On the side of
        the fats, low weights and low values multiplied are milder than their sum.
        """
        return max(self.high - self.mean - sum(term.above for term in self.terms), 0.0)


def assess(
    fats: Sequence[Fat],
    alkalis: Sequence[Alkali],
    acids: Sequence[Acid] = (),
    *,
    scale_step: float = 1.0,
    limits: Limits = DEFAULT_LIMITS,
) -> SafetyRange:
    """Safety range of what is in the pot, or is planned to be.

    Weights in grams as weighed; ``scale_step`` in grams holds for what does not say its own. Raises
    FormulaError when a weight or value makes no sense, and when the acids take all the alkali.
    """
    check_fats(fats)
    check_alkalis(alkalis)
    check_acids(acids)
    weighings: list[Fat | Alkali | Acid] = [*fats, *alkalis, *acids]
    for one in weighings:
        check_scale_step(2 * _half(one, scale_step))
    fat = _fat_side(fats, scale_step)
    lye = _lye_side(alkalis, acids, scale_step)
    if not lye.mean > 0:
        raise FormulaError("acids", Phrase("The acids take up all the lye, so none is left for the fats."))
    if not fat.low > 0:
        words = Phrase("These weights are lost in one step of the scale. Use a finer scale.")
        raise FormulaError("fats", words)
    return _range(nominal_mol(fats), fat, lye, limits)


def _range(nominal: float, fat: _Side, lye: _Side, limits: Limits) -> SafetyRange:
    mean = 1 - lye.mean / fat.mean
    worst_low, worst_high = 1 - lye.high / fat.low, 1 - lye.low / fat.high
    uncertainty = math.sqrt((1 - mean) ** 2 * fat.variance + lye.variance) / fat.mean
    fat_terms, lye_terms = fat.terms, lye.terms

    def chance_lye_exceeds(share: float, bend: float) -> float:
        """Chance that the free alkali exceeds this share of what the fats take, by more than ``bend``."""
        terms = [term.scaled(share) for term in fat_terms] + lye_terms
        return chance_below(lye.mean - share * fat.mean - bend, terms)

    def chance_superfat_below(value: float) -> float:
        return chance_lye_exceeds(1 - value, _bend(1 - value, fat, lye))

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
        chance, cautious = chance_superfat_below(0.0), chance_lye_exceeds(1.0, -lye.unlinear)
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


def _bend(share: float, fat: _Side, lye: _Side) -> float:
    """What errors of weighing and value, multiplied, add to share n_fat - n_alkali just where it is nil.

    The terms x (weighing) and y (value) of one group also enter as x y / mol, which is no term of its own.
    Given the sum, at z standard uncertainties from its mean, a normal x y has the mean
    var(x) var(y) (z^2 - 1) / var(sum): the skewness term of Cornish and Fisher (1938). Next to nothing
    unless the scale is coarse for the pot.
    """
    variance = share**2 * fat.variance + lye.variance
    if not variance:
        return 0.0
    z_squared = min((share * fat.mean - lye.mean) ** 2 / variance, _FARTHEST_Z**2)
    return (share**3 * fat.product - lye.product) * (z_squared - 1) / variance


def _half(weighed: Fat | Alkali | Acid, scale_step: float) -> float:
    """By how much the scale may be wrong, in grams."""
    return (scale_step if weighed.step is None else weighed.step) / 2


def _fat_side(fats: Iterable[Fat], scale_step: float) -> _Side:
    weighed = [(fat, _half(fat, scale_step)) for fat in fats if fat.grams > 0]
    lots: dict[tuple[object, ...], list[tuple[Fat, float]]] = {}
    for fat, half in weighed:
        same = (fat.lot or fat.name, fat.sap.low, fat.sap.nominal, fat.sap.high)
        lots.setdefault(same, []).append((fat, half))
    return _Side(
        mean=sum(fat.grams * mol_per_gram(_mean(fat.sap)) for fat, _ in weighed),
        low=sum(max(fat.grams - half, 0.0) * mol_per_gram(fat.sap.low) for fat, half in weighed),
        high=sum((fat.grams + half) * mol_per_gram(fat.sap.high) for fat, half in weighed),
        groups=tuple(_lot_group(lot) for lot in lots.values()),
    )


def _lot_group(lot: Sequence[tuple[Fat, float]]) -> _Group:
    first, grams = lot[0][0], sum(fat.grams for fat, _ in lot)
    taken = mol_per_gram(_mean(first.sap))
    weighings = tuple(Term.rectangle(half * taken) for _, half in lot)
    return _Group(first.name, _sap_term(first.sap, grams), weighings, grams * taken)


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
    tubs = [(tub, _half(tub, scale_step)) for tub in alkalis if tub.grams > 0]
    sours = [(sour, _half(sour, scale_step)) for sour in acids if sour.grams > 0]
    purities: dict[tuple[object, ...], list[tuple[Alkali, float]]] = {}
    for tub, half in tubs:
        purities.setdefault((tub.kind, tub.purity_low, tub.purity_high), []).append((tub, half))
    groups = [_tub_group(same) for same in purities.values()]
    groups += [
        _Group(SCALE, Term.rectangle(0.0), (Term.rectangle(half * sour.mol / sour.grams),), sour.mol)
        for sour, half in sours
    ]
    least_acid = sum(sour.mol_at(-half) for sour, half in sours)
    most_acid = sum(sour.mol_at(half) for sour, half in sours)
    return _Side(
        mean=sum(tub.mol for tub, _ in tubs) - sum(sour.mol for sour, _ in sours),
        low=sum(tub.mol_at(tub.purity_low, -half) for tub, half in tubs) - most_acid,
        high=sum(tub.mol_at(tub.purity_high, half) for tub, half in tubs) - least_acid,
        groups=tuple(groups),
    )


def _tub_group(tubs: Sequence[tuple[Alkali, float]]) -> _Group:
    first, mol = tubs[0][0], sum(tub.mol for tub, _ in tubs)
    purity = Term.rectangle(mol * (first.purity_high - first.purity_low) / (2 * first.purity))
    weighings = tuple(Term.rectangle(half * first.mol / first.grams) for _, half in tubs)
    return _Group(first.kind.label, purity, weighings, mol)


def _narrows_most(fat: _Side, lye: _Side) -> str:
    """The input with the largest share of the variance; all weighings together count as one."""
    share = 1 - lye.mean / fat.mean
    variances: dict[str, float] = {"": 0.0}
    for side, factor in ((fat, (1 - share) ** 2), (lye, 1.0)):
        for group in side.groups:
            named = (group.name, group.value), *((SCALE, term) for term in group.weighings)
            for name, term in named:
                variances[name] = variances.get(name, 0.0) + factor * term.variance
    return max(variances, key=variances.__getitem__)
