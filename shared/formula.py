"""What a recipe asks for, and what makes it unmakeable whatever the weights.

Weights are grams, shares and purities %.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from shared.heat import REFERENCE_CELSIUS, max_concentration
from shared.ingredients import (
    MAX_GRAMS,
    Acid,
    AlkaliChoice,
    Fat,
    FatKind,
    FormulaError,
    check_acids,
    check_fats,
    check_purity,
    check_scale_step,
    check_superfat,
)
from shared.liquids import WATER, Liquid, check_liquid
from shared.words import Phrase

WAX_ALONE = Phrase("Wax alone makes no soap: it hardly reacts. Add a fat or an oil.")


class LiquidMethod(StrEnum):
    """How a recipe states its liquid. Of a liquid that is more than water, its water counts."""

    CONCENTRATION = "concentration"
    """alkali / (alkali + liquid) in % m/m, the alkali as weighed"""
    RATIO = "ratio"
    """grams of liquid per gram of alkali as weighed"""
    OF_FATS = "of_fats"
    """liquid in % of the fats"""


class LiquidScope(StrEnum):
    """Which liquid the recipe's figure speaks of."""

    LYE = "lye"
    """what dissolves the lye; liquid at trace comes on top of it"""
    BATTER = "batter"
    """all liquid of the batter; liquid at trace is missing from the lye, which is the stronger for it"""


@dataclass(frozen=True, slots=True)
class LiquidPart:
    """One liquid of a recipe: a share in % of what is made up to the stated figure, or else fixed grams.

    ``at_trace`` goes into the batter and not into the lye. An additive with water is a part of fixed grams.
    """

    liquid: Liquid
    share: float = 0.0
    grams: float = 0.0
    at_trace: bool = False


JUST_WATER = (LiquidPart(WATER, 100.0),)


@dataclass(frozen=True, slots=True)
class Formula:
    """A recipe: fats and acids in grams, superfat in %, the liquid as ``liquid_method`` says.

    ``superfat`` is that of ``fats`` and of the fat in the liquids. ``after_cook`` are fats of a hot process
    that go in when the others are soap: no alkali is weighed for them, they count as superfat.
    """

    fats: tuple[Fat, ...]
    alkalis: tuple[AlkaliChoice, ...]
    superfat: float
    liquid_method: LiquidMethod
    liquid_value: float
    acids: tuple[Acid, ...] = ()
    liquids: tuple[LiquidPart, ...] = JUST_WATER
    liquid_scope: LiquidScope = LiquidScope.LYE
    after_cook: tuple[Fat, ...] = ()


def check_formula(formula: Formula, scale_step: float) -> None:
    """Raise FormulaError for what no weights can put right."""
    check_fats(formula.fats)
    if all(fat.kind is FatKind.WAX for fat in formula.fats if fat.grams > 0):
        raise FormulaError("fats", WAX_ALONE)
    if formula.after_cook:
        check_fats(formula.after_cook)
    check_acids(formula.acids)
    check_superfat(formula.superfat)
    check_scale_step(scale_step)
    for choice in formula.alkalis:
        _check_choice(choice)
    if not math.isclose(sum(choice.share for choice in formula.alkalis), 100, abs_tol=1e-6):
        raise FormulaError("alkalis", Phrase("The shares of the alkalis must add up to 100 %."))
    if not 0 < formula.liquid_value < math.inf:
        raise FormulaError("liquid", Phrase("The liquid must be a number above zero."))
    if formula.liquid_method is LiquidMethod.CONCENTRATION and formula.liquid_value >= 100:
        raise FormulaError("liquid", Phrase("Lye concentration must be below 100 %: lye needs liquid."))
    if formula.liquids is not JUST_WATER:
        _check_parts(formula)


def _check_choice(choice: AlkaliChoice) -> None:
    check_purity(choice)
    if not 0 <= choice.share <= 100:
        raise FormulaError("alkalis", Phrase("The share of an alkali must lie between 0 and 100 %."))
    limit = max_concentration(choice.kind)
    if choice.dissolved and choice.purity_high > limit:
        raise FormulaError(
            "alkalis",
            Phrase(
                "%(alkali)s: a lye solution holds no more than %(limit)s %% of it at %(celsius)s °C.",
                limit=f"{limit:.1f}",
                alkali=Phrase(choice.kind.label),
                celsius=f"{REFERENCE_CELSIUS:.0f}",
            ),
        )


def _check_parts(formula: Formula) -> None:
    """Shares of a whole; none at all where each alkali comes as a solution, which brings its own water."""
    shares = 0.0
    for part in formula.liquids:
        check_liquid(part.liquid)
        if not (0 <= part.share <= 100 and 0 <= part.grams <= MAX_GRAMS and not part.share * part.grams):
            raise FormulaError(
                "liquid",
                Phrase("%(name)s: give its share in %% or its weight, not both.", name=part.liquid.name),
            )
        shares += part.share
    none_needed = not shares and all(choice.dissolved for choice in formula.alkalis)
    if not none_needed and not math.isclose(shares, 100, abs_tol=1e-6):
        raise FormulaError("liquid", Phrase("The shares of the liquids must add up to 100 %."))
