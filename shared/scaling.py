"""How large a batch is, and what a scale can show of it.

Weights are grams, volumes mL, shares and superfat %. What is to be weighed is Decimal, in whole steps of the
scale; everything else is float and unrounded.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import NamedTuple, TypeVar

from shared.ingredients import MAX_GRAMS, Acid, Alkali, Fat, nominal_mol
from shared.safety import DEFAULT_LIMITS, Limits, SafetyRange, assess
from shared.saponification import (
    Formula,
    Formulation,
    check_formula,
    formulate,
    liquid_acids,
    liquid_fats,
)
from shared.words import Phrase

MOST_BARS = 100_000
PINCH = Decimal("0.01")
"""Grams; the least that is given for what the scale cannot show."""
_DUST = 6
"""Decimal places that count when steps are counted; beyond them is the dust of binary fractions."""

Name = TypeVar("Name", bound=Hashable)
Weighed = TypeVar("Weighed", Fat, Acid, Alkali)


class ScalingError(ValueError):
    """A size or a scale that makes no sense; ``field`` is "amounts", "size", "bars", "scale" or "shares".

    ``name`` is that of the fat or alkali at fault, if it is one.
    """

    def __init__(self, field: str, message: str, name: str = "") -> None:
        super().__init__(message)
        self.field, self.name = field, name


# How large


class Amount(NamedTuple):
    """One line of a recipe: grams, or its share, and grams on hand (None: as much as one likes)."""

    name: str
    amount: float
    on_hand: float | None = None


class Largest(NamedTuple):
    """The largest batch there is stock for: what to multiply the amounts by, and what runs out first."""

    factor: float
    runs_out: str


def to_weight(amounts: Sequence[Amount], grams: float) -> float:
    """What to multiply all amounts by so that together they weigh this. Raises ScalingError."""
    return _size(grams) / _total(amounts)


def to_bars(bars: int, wanted: int) -> float:
    """What to multiply a recipe for so many bars by. Raises ScalingError."""
    if not (1 <= bars <= MOST_BARS and 1 <= wanted <= MOST_BARS):
        raise ScalingError(
            "bars", Phrase("The number of bars must lie between 1 and %(most)s.", most=MOST_BARS)
        )
    return wanted / bars


def to_stock(amounts: Sequence[Amount], scale: Scale) -> Largest:
    """The largest batch that what is on hand allows; of what runs out the scale's whole steps are used.

    To use up one fat give ``on_hand`` for that one alone. Raises ScalingError where nothing is limited or
    the scale cannot show what is left.
    """
    _total(amounts)
    limited = [
        Largest(float(scale.shows(_on_hand(line), ROUND_FLOOR)) / line.amount, line.name)
        for line in amounts
        if line.on_hand is not None and line.amount > 0
    ]
    if not limited:
        raise ScalingError("amounts", Phrase("Say how much is left of at least one ingredient."))
    largest = min(limited, key=lambda one: one.factor)
    if not largest.factor:
        words = Phrase("There is not enough %(name)s left to weigh.", name=largest.runs_out)
        raise ScalingError("amounts", words)
    return largest


def _on_hand(line: Amount) -> float:
    if line.on_hand is None or not 0 <= line.on_hand <= MAX_GRAMS:
        words = Phrase("%(name)s: what is left must lie between 0 g and 1 tonne.", name=line.name)
        raise ScalingError("amounts", words)
    return line.on_hand


def _total(amounts: Sequence[Amount]) -> float:
    if not all(0 <= line.amount <= MAX_GRAMS for line in amounts):
        raise ScalingError("amounts", Phrase("Each amount must lie between 0 g and 1 tonne."))
    total = sum(line.amount for line in amounts)
    if not total:
        raise ScalingError("amounts", Phrase("There is nothing to scale."))
    return total


def _size(grams: float) -> float:
    if not 0 < grams <= MAX_GRAMS:
        raise ScalingError("size", Phrase("The batch must weigh more than nothing and at most 1 tonne."))
    return grams


# What the scale shows


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale, and perhaps a finer one for weights up to ``fine_up_to``. Steps in grams."""

    step: Decimal
    fine_step: Decimal | None = None
    fine_up_to: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        for step in (self.step, self.step if self.fine_step is None else self.fine_step):
            if not (step.is_finite() and Decimal("0.001") <= step <= 1000):
                raise ScalingError(
                    "scale", Phrase("The step of a scale must lie between 0.001 g and 1000 g.")
                )
        if not (self.fine_up_to.is_finite() and 0 <= self.fine_up_to <= 1_000_000):
            raise ScalingError("scale", Phrase("The fine scale must bear between 0 g and 1 tonne."))
        if self.fine_step is not None and self.fine_step > self.step:
            raise ScalingError("scale", Phrase("The fine scale must be the finer of the two."))

    def step_for(self, grams: float) -> Decimal:
        """The step in which this weight can be read."""
        fine = self.fine_step is not None and grams <= self.fine_up_to
        return self.fine_step if fine and self.fine_step else self.step

    def shows(self, grams: float, rounding: str = ROUND_HALF_UP) -> Decimal:
        """Grams as the scale shows them."""
        step = self.step_for(grams)
        return _steps(grams, step).to_integral_value(rounding) * step

    def pinch(self, grams: float) -> Decimal:
        """The same, but what is too little for the scale to hundredths of a gram: it is not left out."""
        shown = self.shows(grams)
        return shown if shown or not grams > 0 else max(Decimal(f"{grams:.2f}"), PINCH)


def _steps(grams: float, step: Decimal) -> Decimal:
    return Decimal(str(round(grams / float(step), _DUST)))


def round_shares(
    shares: Mapping[Name, float], *, step: float = 0.01, total: float = 100.0
) -> dict[Name, float]:
    """Shares in whole steps that add up to exactly ``total``, by the method of the largest remainder.

    They need not add up to it before: they are scaled. Raises ScalingError where there is nothing to share
    or ``total`` is no whole number of steps.
    """
    if not (0 < step <= total < math.inf and math.isclose(total / step, round(total / step), rel_tol=1e-9)):
        raise ScalingError("shares", Phrase("The whole must be a whole number of steps."))
    before = sum(shares.values())
    if not (0 < before < math.inf and min(shares.values()) >= 0):
        raise ScalingError("shares", Phrase("Shares must not be negative, and together more than nothing."))
    steps = _apportion([share / before * total / step for share in shares.values()], round(total / step))
    return {name: round(count * step, _DUST) for name, count in zip(shares, steps, strict=True)}


def _apportion(exact: Sequence[float], total: int) -> list[int]:
    """Whole numbers near the exact ones that add up to ``total``: the largest remainders go up."""
    whole = [math.floor(round(value, _DUST)) for value in exact]
    by_remainder = sorted(range(len(exact)), key=lambda index: whole[index] - exact[index])
    for index in by_remainder[: total - sum(whole)]:
        whole[index] += 1
    return whole


# Weighing out


@dataclass(frozen=True, slots=True)
class WeighedOut:
    """A recipe as a scale can show it, each tuple in the recipe's order.

    ``planned`` is worked out for the rounded fats and acids, its alkali and liquid unrounded; ``safety`` is
    of all the rounded weights. The superfat of these is never below the recipe's.
    """

    fats: tuple[Decimal, ...]
    after_cook: tuple[Decimal, ...]
    acids: tuple[Decimal, ...]
    liquids: tuple[Decimal, ...]
    alkalis: tuple[Decimal, ...]
    planned: Formulation
    safety: SafetyRange


def weigh_out(formula: Formula, scale: Scale, *, limits: Limits = DEFAULT_LIMITS) -> WeighedOut:
    """Round a recipe to the scale so that it stays as mild as it was meant.

    Fats first, their sum kept to the step; then acids and liquids; then the lye is worked out for what was
    rounded, and itself rounded down. Raises FormulaError for what cannot be made and ScalingError where the
    scale cannot show a fat or an alkali.
    """
    step = float(scale.step)
    check_formula(formula, step)
    fats, after_cook = weigh_fats(formula.fats, scale), weigh_fats(formula.after_cook, scale)
    acids = tuple(scale.pinch(acid.grams) for acid in formula.acids)
    rounded = replace(
        formula,
        fats=_weighing(formula.fats, fats, scale),
        after_cook=_weighing(formula.after_cook, after_cook, scale),
        acids=_weighing(formula.acids, acids, scale),
    )
    planned = formulate(rounded, scale_step=step, limits=limits)
    liquids = tuple(scale.pinch(portion.grams) for portion in planned.liquids)
    portions = [
        replace(portion, grams=float(grams)) for portion, grams in zip(planned.liquids, liquids, strict=True)
    ]
    cooked = (*rounded.fats, *_on(liquid_fats(portions), scale))
    sour = (*rounded.acids, *_on(liquid_acids(portions), scale))
    mol = nominal_mol(cooked) * (1 - formula.superfat / 100) + sum(acid.mol for acid in sour)
    alkalis = weigh_lye(planned.alkalis, scale, mol=mol)
    pot = (*cooked, *rounded.after_cook)
    lye = _weighing(planned.alkalis, alkalis, scale)
    return WeighedOut(
        fats=fats,
        after_cook=after_cook,
        acids=acids,
        liquids=liquids,
        alkalis=alkalis,
        planned=planned,
        safety=assess(pot, lye, sour, scale_step=step, limits=limits),
    )


def _weighing(lines: Sequence[Weighed], grams: Sequence[Decimal], scale: Scale) -> tuple[Weighed, ...]:
    """The lines as they are weighed."""
    return _on([replace(line, grams=float(shown)) for line, shown in zip(lines, grams, strict=True)], scale)


def _on(lines: Sequence[Weighed], scale: Scale) -> tuple[Weighed, ...]:
    """The lines with the step of the scale that each is weighed on."""
    return tuple(replace(line, step=float(scale.step_for(line.grams))) for line in lines)


def weigh_fats(fats: Sequence[Fat], scale: Scale) -> tuple[Decimal, ...]:
    """Fats as the scale shows them, their sum within half a step of what it was.

    Largest remainder, first among those for the fine scale, then among the others. Raises ScalingError
    where a fat would vanish.
    """
    if not all(0 <= fat.grams <= MAX_GRAMS for fat in fats):
        raise ScalingError("amounts", Phrase("Each amount must lie between 0 g and 1 tonne."))
    shown: dict[int, Decimal] = {}
    left = 0.0
    for step in sorted({scale.step_for(fat.grams) for fat in fats}):
        here = [index for index, fat in enumerate(fats) if scale.step_for(fat.grams) == step]
        left += sum(fats[index].grams for index in here)
        counts = _apportion(
            [fats[index].grams / float(step) for index in here],
            int(_steps(left, step).to_integral_value(ROUND_HALF_UP)),
        )
        shown.update((index, count * step) for index, count in zip(here, counts, strict=True))
        left -= float(sum(shown[index] for index in here))
    return tuple(_visible(fat.name, fat.grams, shown[index], scale) for index, fat in enumerate(fats))


def weigh_lye(alkalis: Sequence[Alkali], scale: Scale, *, mol: float) -> tuple[Decimal, ...]:
    """Alkalis as the scale shows them, together never more than ``mol`` of alkali.

    All but one are rounded to the nearest step. The one whose step is the least alkali makes up for that,
    and is rounded down. Raises ScalingError where an alkali would vanish.
    """
    shown: dict[int, Decimal] = {}
    *others, last = sorted(range(len(alkalis)), key=lambda index: -_mol_of_step(alkalis[index], scale))
    for index in others:
        shown[index] = scale.shows(alkalis[index].grams)
        mol -= replace(alkalis[index], grams=float(shown[index])).mol
    shown[last] = scale.shows(mol / replace(alkalis[last], grams=1.0).mol, ROUND_FLOOR)
    return tuple(
        _visible(alkali.kind.label, alkali.grams, shown[index], scale) for index, alkali in enumerate(alkalis)
    )


def _mol_of_step(alkali: Alkali, scale: Scale) -> float:
    return replace(alkali, grams=float(scale.step_for(alkali.grams))).mol


def _visible(name: str, grams: float, shown: Decimal, scale: Scale) -> Decimal:
    """A weight that was there must not be rounded away: it decides the superfat."""
    if grams > 0 and shown <= 0:
        words = Phrase(
            "%(name)s comes to %(grams)s g; the scale shows steps of %(step)s g. Make the batch larger.",
            name=name,
            grams=f"{grams:.2g}",
            step=f"{scale.step_for(grams).normalize():f}",
        )
        raise ScalingError("scale", words, name)
    return shown
