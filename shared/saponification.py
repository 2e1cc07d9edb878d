"""From a recipe to weights: alkali, liquid and the safety range.

n_fat = sum of m_i S_i / (1000 M_KOH) with S in mg KOH/g (ISO 3657); alkali needed
n = n_fat (1 - superfat) + n_acid, divided among the alkalis by mol and by their purity.

Liquids with fat or acid take alkali too, so that alkali and liquid depend on each other. Both grow in a
straight line with the liquid, so one equation gives them: with n_0 mol for fats and acids, m mol for a gram
of the liquids made up, g grams of alkali for a mol, r grams of water wanted for a gram of alkali, and F grams
of water that come anyway, a gram of the liquids made up holding w grams of water:

    liquid L: w L = r g (n_0 + m L) - F, or w L = W - F where the water is a share of the fats.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shared.chemistry import AcidKind, AlkaliKind
from shared.corrections import Correction, FatOnHand, correction, restore
from shared.formula import Formula, LiquidMethod, LiquidPart, LiquidScope, check_formula
from shared.heat import REFERENCE_CELSIUS, max_concentration
from shared.ingredients import (
    MAX_GRAMS,
    Acid,
    Alkali,
    AlkaliChoice,
    Fat,
    FatKind,
    FormulaError,
    Sap,
    nominal_mol,
)
from shared.liquids import Liquid
from shared.safety import DEFAULT_LIMITS, Limits, SafetyRange, Verdict, assess
from shared.words import Phrase

__all__ = [
    "Acid",
    "AcidKind",
    "Alkali",
    "AlkaliChoice",
    "AlkaliKind",
    "Correction",
    "Fat",
    "FatKind",
    "FatOnHand",
    "Formula",
    "FormulaError",
    "Formulation",
    "Limits",
    "Liquid",
    "LiquidMethod",
    "LiquidPart",
    "LiquidScope",
    "Portion",
    "SafetyRange",
    "Salt",
    "Sap",
    "Verdict",
    "assess",
    "check_formula",
    "correction",
    "formulate",
    "restore",
    "salts",
]


_NEXT_TO_NOTHING = 1e-6
"""Grams; less water than this is a rounding error."""


@dataclass(frozen=True, slots=True)
class Salt:
    """What an acid becomes: the anhydrous salt and its grams."""

    name: str
    grams: float


@dataclass(frozen=True, slots=True)
class Portion:
    """So many grams of a liquid, for the lye or at trace."""

    liquid: Liquid
    grams: float
    at_trace: bool = False

    @property
    def water(self) -> float:
        """Grams of water in it."""
        return self.grams * self.liquid.water / 100


@dataclass(frozen=True, slots=True)
class Formulation:
    """Weights in grams, not rounded; concentration and liquid of fats in %; ratio in g/g.

    ``alkalis`` has one weight for each choice of the recipe, ``liquids`` one for each part, in its order.
    ``liquid_grams`` is all liquid as weighed, ``water_grams`` all water, with that of a ready-made lye
    solution. The lye solution, its concentration and ``lye_water_grams`` leave out what goes in at trace;
    ``liquid_ratio`` and ``liquid_of_fats`` count all water, the alkali without the water it brings.
    ``fat_grams`` are the fats without those after the cook. ``safety`` is that of the whole pot,
    ``before_after_cook`` that of the pot while it cooks.
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
    liquids: tuple[Portion, ...] = ()
    water_grams: float = 0.0
    lye_water_grams: float = 0.0
    before_after_cook: SafetyRange | None = None


def formulate(formula: Formula, *, scale_step: float = 1.0, limits: Limits = DEFAULT_LIMITS) -> Formulation:
    """Weights of alkali and liquid for a recipe, with its safety range.

    ``scale_step`` in grams. Raises FormulaError for what cannot be made; its ``field`` says where.
    """
    check_formula(formula, scale_step)
    mixing = _Mixing(formula)
    alkalis, liquids, for_lye = mixing.alkalis, mixing.liquids, mixing.for_lye
    fat_grams = mixing.fat_grams
    alkali_grams = sum(alkali.grams for alkali in alkalis)
    brought = sum(alkali.water for alkali in alkalis)
    water = brought + sum(portion.water for portion in liquids)
    lye_water = brought + sum(portion.water for portion in for_lye)
    counted = alkali_grams - brought
    concentration = 100 * counted / (counted + lye_water)
    _check_dissolves(alkalis, concentration)
    cooked = (*formula.fats, *liquid_fats(liquids))
    acids = (*formula.acids, *liquid_acids(liquids))
    safety = assess((*cooked, *formula.after_cook), alkalis, acids, scale_step=scale_step, limits=limits)
    before = None
    if formula.after_cook:
        before = assess(cooked, alkalis, acids, scale_step=scale_step, limits=limits)
    return Formulation(
        alkalis=alkalis,
        liquid_grams=sum(portion.grams for portion in liquids),
        fat_grams=fat_grams,
        lye_concentration=concentration,
        liquid_ratio=water / counted,
        liquid_of_fats=100 * water / fat_grams,
        lye_solution_grams=alkali_grams + sum(portion.grams for portion in for_lye),
        salts=salts(acids, alkalis),
        safety=safety,
        liquids=liquids,
        water_grams=water,
        lye_water_grams=lye_water,
        before_after_cook=before,
    )


def liquid_fats(portions: Iterable[Portion]) -> tuple[Fat, ...]:
    """What the liquids take of alkali for their fat, for `assess`: each a fat of low saponification value."""
    fats = (portion.liquid.fat_in(portion.grams) for portion in portions)
    return tuple(fat for fat in fats if fat)


def liquid_acids(portions: Iterable[Portion]) -> tuple[Acid, ...]:
    """The acids of the liquids, for `assess`: each an acid solution."""
    acids = (portion.liquid.acid_in(portion.grams) for portion in portions)
    return tuple(acid for acid in acids if acid)


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


class _Mixing:
    """Alkali and liquid of a checked recipe, which depend on each other. See the module's equation."""

    def __init__(self, formula: Formula) -> None:
        self._formula = formula
        self.fat_grams = sum(fat.grams for fat in formula.fats)
        pure = nominal_mol(formula.fats) * (1 - formula.superfat / 100)
        fixed = sum(part.grams * self._mol_per_gram(part) for part in formula.liquids)
        self._mol = pure + sum(acid.mol for acid in formula.acids) + fixed
        made_up = self._made_up_grams()
        if made_up > MAX_GRAMS:
            raise FormulaError("liquid", Phrase("That is more than a tonne of liquid. Check the figure."))
        self.liquids = tuple(
            Portion(part.liquid, part.grams + made_up * part.share / 100, part.at_trace)
            for part in formula.liquids
        )
        self.for_lye = tuple(portion for portion in self.liquids if not portion.at_trace)
        self.alkalis = self._weigh(self._mol + made_up * self._made_up_mol)

    def _mol_per_gram(self, part: LiquidPart) -> float:
        return part.liquid.mol_per_gram(self._formula.superfat)

    @property
    def _made_up_mol(self) -> float:
        """Mol of alkali that a gram of the liquids made up takes."""
        return sum(part.share / 100 * self._mol_per_gram(part) for part in self._formula.liquids)

    def _weigh(self, mol: float) -> tuple[Alkali, ...]:
        return tuple(
            Alkali(
                choice.kind,
                mol * choice.share * choice.kind.molar_mass / ((choice.purity_low + choice.purity_high) / 2),
                choice.purity_low,
                choice.purity_high,
                choice.dissolved,
            )
            for choice in self._formula.alkalis
        )

    def _made_up_grams(self) -> float:
        """Grams of the liquids that are made up to the stated figure; none where no lye needs any."""
        if not any(part.share for part in self._formula.liquids):
            return 0.0
        one_mol = self._weigh(1.0)
        brought = sum(alkali.water for alkali in one_mol)
        wanted, for_a_mol = self._wanted_water(sum(alkali.grams for alkali in one_mol) - brought)
        counted = [part for part in self._formula.liquids if self._counts(part)]
        water = sum(part.share * part.liquid.water for part in counted) / 10_000
        fixed = sum(part.grams * part.liquid.water / 100 for part in counted)
        missing = wanted + (for_a_mol - brought) * self._mol - fixed
        net = water - (for_a_mol - brought) * self._made_up_mol
        if missing < -_NEXT_TO_NOTHING:
            raise FormulaError(
                "liquid",
                Phrase(
                    "What is in the recipe already brings %(grams)s g of water more than it asks for. "
                    "Take less of it, or ask for more liquid.",
                    grams=f"{-missing:.0f}",
                ),
            )
        if not net > 0:
            raise FormulaError(
                "liquid",
                Phrase(
                    "These liquids bring too little water to the lye. "
                    "Put more water, or another one, into it."
                ),
            )
        return max(missing, 0.0) / net

    def _wanted_water(self, grams_for_a_mol: float) -> tuple[float, float]:
        """Water asked for: so much at all events, and so much for each mol of alkali."""
        value = self._formula.liquid_value
        if self._formula.liquid_method is LiquidMethod.CONCENTRATION:
            return 0.0, grams_for_a_mol * (100 - value) / value
        if self._formula.liquid_method is LiquidMethod.RATIO:
            return 0.0, grams_for_a_mol * value
        return self.fat_grams * value / 100, 0.0

    def _counts(self, part: LiquidPart) -> bool:
        return self._formula.liquid_scope is LiquidScope.BATTER or not part.at_trace


def _check_dissolves(alkalis: Iterable[Alkali], concentration: float) -> None:
    """With two alkalis the one that dissolves less sets the limit."""
    hardest = min((alkali.kind for alkali in alkalis if alkali.grams > 0), key=max_concentration)
    limit = max_concentration(hardest)
    if concentration > limit:
        raise FormulaError(
            "liquid",
            Phrase(
                "Too little liquid: the lye would be %(strength)s %%, and at %(celsius)s °C "
                "no more than %(limit)s %% dissolves (%(alkali)s).",
                strength=f"{concentration:.1f}",
                celsius=f"{REFERENCE_CELSIUS:.0f}",
                limit=f"{limit:.1f}",
                alkali=Phrase(hardest.label),
            ),
        )
