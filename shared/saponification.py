"""From a recipe to weights: alkali, liquid and the safety range.

n_fat = sum of m_i S_i / (1000 M_KOH) with S in mg KOH/g (ISO 3657); alkali needed
n = n_fat (1 - superfat) + n_acid, divided among the alkalis by mol and by their purity.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shared.chemistry import AcidKind, AlkaliKind
from shared.corrections import Correction, FatOnHand, correction, restore
from shared.heat import REFERENCE_CELSIUS, max_concentration
from shared.ingredients import (
    MAX_GRAMS,
    Acid,
    Alkali,
    AlkaliChoice,
    Fat,
    FormulaError,
    Sap,
    check_acids,
    check_fats,
    check_purity,
    check_scale_step,
    check_superfat,
    nominal_mol,
)
from shared.safety import DEFAULT_LIMITS, Limits, SafetyRange, Verdict, assess

__all__ = [
    "Acid",
    "AcidKind",
    "Alkali",
    "AlkaliChoice",
    "AlkaliKind",
    "Correction",
    "Fat",
    "FatOnHand",
    "Formula",
    "FormulaError",
    "Formulation",
    "Limits",
    "LiquidMethod",
    "SafetyRange",
    "Salt",
    "Sap",
    "Verdict",
    "assess",
    "correction",
    "formulate",
    "restore",
    "salts",
]


class LiquidMethod(StrEnum):
    """How a recipe states its liquid."""

    CONCENTRATION = "concentration"
    """alkali / (alkali + liquid) in % m/m, the alkali as weighed"""
    RATIO = "ratio"
    """grams of liquid per gram of alkali as weighed"""
    OF_FATS = "of_fats"
    """liquid in % of the fats"""


@dataclass(frozen=True, slots=True)
class Formula:
    """A recipe: fats and acids in grams, superfat in %, the liquid as ``liquid_method`` says."""

    fats: tuple[Fat, ...]
    alkalis: tuple[AlkaliChoice, ...]
    superfat: float
    liquid_method: LiquidMethod
    liquid_value: float
    acids: tuple[Acid, ...] = ()


@dataclass(frozen=True, slots=True)
class Salt:
    """What an acid becomes: the anhydrous salt and its grams."""

    name: str
    grams: float


@dataclass(frozen=True, slots=True)
class Formulation:
    """Weights in grams, not rounded; concentration and liquid of fats in %; ratio in g/g.

    ``alkalis`` has one weight for each choice of the recipe, in its order.
    """

    alkalis: tuple[Alkali, ...]
    liquid_grams: float
    fat_grams: float
    lye_concentration: float
    liquid_ratio: float
    liquid_of_fats: float
    lye_solution_grams: float
    salts: tuple[Salt, ...]
    safety: SafetyRange


def formulate(formula: Formula, *, scale_step: float = 1.0, limits: Limits = DEFAULT_LIMITS) -> Formulation:
    """Weights of alkali and liquid for a recipe, with its safety range.

    ``scale_step`` in grams. Raises FormulaError for what cannot be made; its ``field`` says where.
    """
    _check(formula, scale_step)
    alkalis = _weigh_alkalis(formula)
    fat_grams = sum(fat.grams for fat in formula.fats)
    alkali_grams = sum(alkali.grams for alkali in alkalis)
    liquid_grams = _liquid_grams(formula, alkali_grams, fat_grams)
    solution_grams = alkali_grams + liquid_grams
    concentration = 100 * alkali_grams / solution_grams
    _check_dissolves(alkalis, concentration)
    return Formulation(
        alkalis=alkalis,
        liquid_grams=liquid_grams,
        fat_grams=fat_grams,
        lye_concentration=concentration,
        liquid_ratio=liquid_grams / alkali_grams,
        liquid_of_fats=100 * liquid_grams / fat_grams,
        lye_solution_grams=solution_grams,
        salts=salts(formula.acids, alkalis),
        safety=assess(formula.fats, alkalis, formula.acids, scale_step=scale_step, limits=limits),
    )


def salts(acids: Iterable[Acid], alkalis: Sequence[Alkali]) -> tuple[Salt, ...]:
    """What the acids become in the lye, shared between the alkalis by mol."""
    total = sum(alkali.mol for alkali in alkalis)
    return tuple(
        Salt(
            acid.kind.salt_label(alkali.kind),
            acid.mol / acid.kind.protons * acid.kind.salt_molar_mass(alkali.kind) * alkali.mol / total,
        )
        for acid in acids
        for alkali in alkalis
        if alkali.grams > 0
    )


def _check(formula: Formula, scale_step: float) -> None:
    check_fats(formula.fats)
    check_acids(formula.acids)
    check_superfat(formula.superfat)
    check_scale_step(scale_step)
    for choice in formula.alkalis:
        check_purity(choice)
        if not 0 <= choice.share <= 100:
            raise FormulaError("alkalis", "The share of an alkali must lie between 0 and 100 %.")
    if not math.isclose(sum(choice.share for choice in formula.alkalis), 100, abs_tol=1e-6):
        raise FormulaError("alkalis", "The shares of the alkalis must add up to 100 %.")
    if not 0 < formula.liquid_value < math.inf:
        raise FormulaError("liquid", "The liquid must be a number above zero.")


def _weigh_alkalis(formula: Formula) -> tuple[Alkali, ...]:
    mol = nominal_mol(formula.fats) * (1 - formula.superfat / 100) + sum(acid.mol for acid in formula.acids)
    return tuple(
        Alkali(
            choice.kind,
            mol * choice.share * choice.kind.molar_mass / ((choice.purity_low + choice.purity_high) / 2),
            choice.purity_low,
            choice.purity_high,
        )
        for choice in formula.alkalis
    )


def _liquid_grams(formula: Formula, alkali_grams: float, fat_grams: float) -> float:
    value = formula.liquid_value
    if formula.liquid_method is LiquidMethod.CONCENTRATION:
        if value >= 100:
            raise FormulaError("liquid", "Lye concentration must be below 100 %: lye needs liquid.")
        grams = alkali_grams * (100 - value) / value
    elif formula.liquid_method is LiquidMethod.RATIO:
        grams = alkali_grams * value
    else:
        grams = fat_grams * value / 100
    if grams > MAX_GRAMS:
        raise FormulaError("liquid", "That is more than a tonne of liquid. Check the figure.")
    return grams


def _check_dissolves(alkalis: Iterable[Alkali], concentration: float) -> None:
    """With two alkalis the one that dissolves less sets the limit."""
    hardest = min((alkali.kind for alkali in alkalis if alkali.grams > 0), key=max_concentration)
    limit = max_concentration(hardest)
    if concentration > limit:
        raise FormulaError(
            "liquid",
            f"Too little liquid: the lye would be {concentration:.1f} %, and at {REFERENCE_CELSIUS:.0f} °C "
            f"no more than {limit:.1f} % {hardest.label.lower()} dissolves.",
        )
