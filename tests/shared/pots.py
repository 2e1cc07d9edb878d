"""The pots that the tests of this folder share, and strategies that make others. All invented."""

import pytest
from hypothesis import strategies as st

from shared.chemistry import AcidKind, AlkaliKind
from shared.saponification import (
    Acid,
    Alkali,
    AlkaliChoice,
    Fat,
    Formula,
    LiquidMethod,
    SafetyRange,
    Sap,
    formulate,
)
from tests.bench.monte_carlo import Pot

NEARLY = 0.03
"""Points of superfat by which two roads to the same range may differ."""

SODA = AlkaliChoice(AlkaliKind.NAOH, 97, 100)


def centred(low: float, high: float) -> Sap:
    """A range whose middle is the nominal value."""
    return Sap(low, (low + high) / 2, high)


FOUR_FATS = (
    Fat("Olive oil", 450, centred(184, 196)),
    Fat("Coconut oil", 250, centred(248, 265)),
    Fat("Palm oil", 250, centred(190, 209)),
    Fat("Castor oil", 50, centred(176, 187)),
)


def formula(
    fats: tuple[Fat, ...] = FOUR_FATS,
    *,
    superfat: float = 5,
    alkalis: tuple[AlkaliChoice, ...] = (SODA,),
    acids: tuple[Acid, ...] = (),
    method: LiquidMethod = LiquidMethod.CONCENTRATION,
    value: float = 33,
) -> Formula:
    return Formula(fats, alkalis, superfat, method, value, acids)


def soda(grams: float, low: float = 97, high: float = 100) -> Alkali:
    return Alkali(AlkaliKind.NAOH, grams, low, high)


def potash(grams: float, low: float = 89, high: float = 91) -> Alkali:
    return Alkali(AlkaliKind.KOH, grams, low, high)


@st.composite
def saps(draw: st.DrawFn, *, even: bool = False) -> Sap:
    low = draw(st.floats(170, 250))
    width = draw(st.floats(0, 20))
    share = 0.5 if even else draw(st.floats(0, 1))
    return Sap(low, min(low + share * width, low + width), low + width)


@st.composite
def fats(draw: st.DrawFn, *, even: bool = False, most: int = 5) -> tuple[Fat, ...]:
    number = draw(st.integers(1, most))
    grams = st.floats(50, 3000)
    return tuple(Fat(f"Fat {index}", draw(grams), draw(saps(even=even))) for index in range(number))


@st.composite
def formulas(draw: st.DrawFn, *, even: bool = False) -> Formula:
    alkalis = draw(
        st.sampled_from(
            [
                (SODA,),
                (AlkaliChoice(AlkaliKind.KOH, 85, 92),),
                (AlkaliChoice(AlkaliKind.NAOH, 98, 100, 70), AlkaliChoice(AlkaliKind.KOH, 89, 91, 30)),
            ]
        )
    )
    acids = draw(st.sampled_from([(), (Acid(AcidKind.CITRIC, 10),), (Acid(AcidKind.LACTIC, 15),)]))
    return formula(draw(fats(even=even)), superfat=draw(st.floats(-5, 20)), alkalis=alkalis, acids=acids)


def pot_of(recipe: Formula, scale_step: float = 1.0) -> Pot:
    return Pot(recipe.fats, formulate(recipe, scale_step=scale_step).alkalis, recipe.acids, scale_step)


def same(one: SafetyRange, other: SafetyRange, within: float) -> None:
    for name in ("nominal", "likely_low", "likely_high", "worst_low", "worst_high", "standard_uncertainty"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), abs=within), name
