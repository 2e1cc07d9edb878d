"""From a recipe to weights."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.chemistry import M_KOH, AcidKind, AlkaliKind
from shared.heat import max_concentration
from shared.saponification import (
    Acid,
    AlkaliChoice,
    Fat,
    Formula,
    FormulaError,
    LiquidMethod,
    Sap,
    formulate,
    salts,
)
from tests.shared.pots import FOUR_FATS, SODA, centred, formula, formulas, potash, soda

FEWER = settings(max_examples=60, deadline=None)


def refused(recipe: Formula, field: str, words: str, scale_step: float = 1.0) -> None:
    with pytest.raises(FormulaError, match=words) as caught:
        formulate(recipe, scale_step=scale_step)
    assert caught.value.field == field


# Weights


def test_alkali_follows_from_the_saponification_value() -> None:
    """1,000 g of fat of value 190 take 190 g pure KOH; less 5 %, at 90 % purity, 200.56 g."""
    choice = AlkaliChoice(AlkaliKind.KOH, 90, 90)
    made = formulate(formula((Fat("Fat", 1000, centred(190, 190)),), alkalis=(choice,)))
    assert made.alkalis[0].grams == pytest.approx(190 * 0.95 / 0.9)


def test_two_alkalis_share_by_mol() -> None:
    choices = (AlkaliChoice(AlkaliKind.NAOH, 99, 99, 60), AlkaliChoice(AlkaliKind.KOH, 90, 90, 40))
    sodium, potassium = formulate(formula(alkalis=choices)).alkalis
    assert sodium.mol / potassium.mol == pytest.approx(1.5)
    needed = sum(fat.grams * fat.sap.nominal for fat in FOUR_FATS) / 1000 / M_KOH * 0.95
    assert sodium.mol + potassium.mol == pytest.approx(needed)


def test_an_alkali_with_no_share_keeps_its_place_and_weighs_nothing() -> None:
    choices = (AlkaliChoice(AlkaliKind.KOH, 90, 90, 0), replace(SODA, share=100))
    made = formulate(formula(alkalis=choices, acids=(Acid(AcidKind.CITRIC, 10),)))
    assert [alkali.grams for alkali in made.alkalis] == [0, pytest.approx(149.75, abs=0.01)]
    assert [salt.name for salt in made.salts] == ["Trisodium citrate"]


def test_acid_takes_alkali_of_its_own() -> None:
    """10 g anhydrous citric acid take 6.245 g NaOH and leave 13.432 g trisodium citrate."""
    plain = formulate(formula())
    sour = formulate(formula(acids=(Acid(AcidKind.CITRIC, 10),)))
    more = (sour.alkalis[0].grams - plain.alkalis[0].grams) * 0.985
    assert more == pytest.approx(6.245, abs=0.001)
    (salt,) = sour.salts
    assert salt.name == "Trisodium citrate"
    assert salt.grams == pytest.approx(13.432, abs=0.001)
    assert sour.safety.nominal == pytest.approx(5)


def test_salts_divide_between_two_alkalis_by_mol() -> None:
    sodium, potassium = salts([Acid(AcidKind.LACTIC, 10)], [soda(40, 100, 100), potash(56.11, 100, 100)])
    assert (sodium.name, potassium.name) == ("Sodium lactate", "Potassium lactate")
    assert sodium.grams == pytest.approx(6.22, abs=0.01)  # half of 12.440 g
    assert potassium.grams == pytest.approx(7.11, abs=0.01)


# Liquid


@pytest.mark.parametrize(
    ("method", "value"),
    [
        (LiquidMethod.CONCENTRATION, 33.333333333333336),
        (LiquidMethod.RATIO, 2.0),
        (LiquidMethod.OF_FATS, 28.681491065571124),
    ],
)
def test_three_ways_to_state_the_same_liquid(method: LiquidMethod, value: float) -> None:
    made = formulate(formula(method=method, value=value))
    assert made.liquid_grams == pytest.approx(286.81, abs=0.01)
    assert made.liquid_ratio == pytest.approx(2)
    assert made.lye_concentration == pytest.approx(100 / 3)
    assert made.liquid_of_fats == pytest.approx(28.681, abs=0.001)
    assert made.lye_solution_grams == pytest.approx(made.alkalis[0].grams * 3)
    assert made.fat_grams == 1000


@FEWER
@given(formulas(), st.sampled_from(LiquidMethod), st.floats(10, 40))
def test_each_way_to_state_the_liquid_turns_into_the_others(
    recipe: Formula, method: LiquidMethod, value: float
) -> None:
    stated = (
        value / 10 if method is LiquidMethod.RATIO else value + (40 if method is LiquidMethod.OF_FATS else 0)
    )
    made = formulate(replace(recipe, liquid_method=method, liquid_value=stated))
    for other, figure in (
        (LiquidMethod.CONCENTRATION, made.lye_concentration),
        (LiquidMethod.RATIO, made.liquid_ratio),
        (LiquidMethod.OF_FATS, made.liquid_of_fats),
    ):
        again = formulate(replace(recipe, liquid_method=other, liquid_value=figure))
        assert again.liquid_grams == pytest.approx(made.liquid_grams)


@pytest.mark.parametrize("kind", AlkaliKind)
def test_lye_stronger_than_dissolves_is_refused_and_just_below_is_not(kind: AlkaliKind) -> None:
    choice = (AlkaliChoice(kind, 99, 99),)
    limit = max_concentration(kind)
    assert formulate(formula(alkalis=choice, value=limit - 0.01)).lye_concentration < limit
    refused(
        formula(alkalis=choice, value=limit + 0.1),
        "liquid",
        rf"at 20 °C no more than {limit:.1f} % dissolves \({kind.label}\)",
    )


def test_with_two_alkalis_the_less_soluble_sets_the_limit() -> None:
    choices = (AlkaliChoice(AlkaliKind.KOH, 90, 90, 50), AlkaliChoice(AlkaliKind.NAOH, 99, 99, 50))
    refused(formula(alkalis=choices, value=52.5), "liquid", "Sodium hydroxide")


@pytest.mark.parametrize(
    ("method", "value", "words"),
    [
        (LiquidMethod.CONCENTRATION, 100, "below 100 %"),
        (LiquidMethod.CONCENTRATION, 250, "below 100 %"),
        (LiquidMethod.CONCENTRATION, 1e-6, "more than a tonne"),
        (LiquidMethod.RATIO, 0.2, "Too little liquid"),
        (LiquidMethod.RATIO, 1e9, "more than a tonne"),
        (LiquidMethod.OF_FATS, 1, "Too little liquid"),
        (LiquidMethod.OF_FATS, 1e300, "more than a tonne"),
        (LiquidMethod.RATIO, 0, "above zero"),
        (LiquidMethod.RATIO, -1, "above zero"),
        (LiquidMethod.RATIO, math.nan, "above zero"),
        (LiquidMethod.RATIO, math.inf, "above zero"),
    ],
)
def test_liquid_that_makes_no_lye_is_refused(method: LiquidMethod, value: float, words: str) -> None:
    refused(formula(method=method, value=value), "liquid", words)


# Refusals


BAD = [-1, -0.001, math.nan, math.inf, -math.inf, 1e6 + 1, 1e300]


@pytest.mark.parametrize("grams", BAD)
def test_impossible_weights_are_refused(grams: float) -> None:
    refused(formula((*FOUR_FATS, Fat("Neem oil", grams, centred(180, 205)))), "fats", "Neem oil: the weight")
    refused(formula(acids=(Acid(AcidKind.LACTIC, grams),)), "acids", "Lactic acid: the weight")


@pytest.mark.parametrize(
    "fats", [(), (Fat("Olive oil", 0, centred(184, 196)),), (Fat("Olive oil", 5e-324, centred(184, 196)),)]
)
def test_a_recipe_without_fat_is_refused(fats: tuple[Fat, ...]) -> None:
    refused(formula(fats), "fats", "at least one fat")


@pytest.mark.parametrize(
    "sap",
    [
        Sap(0, 190, 196),
        Sap(-5, 190, 196),
        Sap(191, 190, 196),
        Sap(184, 197, 196),
        Sap(math.nan, 190, 196),
        Sap(184, math.nan, 196),
        Sap(184, 190, math.nan),
        Sap(184, 190, math.inf),
        Sap(1e-320, 190, 196),
        Sap(184, 190, 1001),
    ],
)
def test_impossible_saponification_values_are_refused(sap: Sap) -> None:
    refused(formula((Fat("Olive oil", 100, sap),)), "fats", "Olive oil: the saponification value")


@pytest.mark.parametrize(
    ("low", "high"), [(0, 100), (0.5, 99), (99, 98), (97, 101), (math.nan, 99), (97, math.nan)]
)
def test_impossible_purities_are_refused(low: float, high: float) -> None:
    refused(
        formula(alkalis=(AlkaliChoice(AlkaliKind.NAOH, low, high),)),
        "alkalis",
        "Sodium hydroxide: the purity",
    )


@pytest.mark.parametrize("shares", [(), (99,), (60, 41), (100, 0.01)])
def test_shares_that_do_not_make_a_whole_are_refused(shares: tuple[float, ...]) -> None:
    choices = tuple(AlkaliChoice(AlkaliKind.NAOH, 97, 100, share) for share in shares)
    refused(formula(alkalis=choices), "alkalis", "add up to 100")


@pytest.mark.parametrize("shares", [(-10, 110), (math.nan, 100), (math.inf, 0)])
def test_impossible_shares_are_refused(shares: tuple[float, ...]) -> None:
    choices = tuple(AlkaliChoice(AlkaliKind.NAOH, 97, 100, share) for share in shares)
    refused(formula(alkalis=choices), "alkalis", "share of an alkali")


@pytest.mark.parametrize("superfat", [-5.01, 30.01, math.nan, math.inf, 1e9])
def test_superfat_out_of_bounds_is_refused(superfat: float) -> None:
    refused(formula(superfat=superfat), "superfat", "between -5 and 30")


@pytest.mark.parametrize("superfat", [-5, 30])
def test_superfat_at_its_bounds_is_taken(superfat: float) -> None:
    assert formulate(formula(superfat=superfat)).safety.nominal == pytest.approx(superfat)


@pytest.mark.parametrize("step", [-1, math.nan, math.inf, 1001])
def test_an_impossible_scale_is_refused(step: float) -> None:
    refused(formula(), "scale", "step of the scale", scale_step=step)


# Rules that hold for every recipe


def test_a_certificate_reaches_as_far_as_the_laboratory_vouches() -> None:
    assert Sap.certificate(191.5, 1.5, "lot OL-1") == Sap(190, 191.5, 193, "lot OL-1")


@FEWER
@given(formulas(), st.floats(0.1, 20))
def test_weights_scale_with_the_batch(recipe: Formula, factor: float) -> None:
    grown = replace(
        recipe,
        fats=tuple(replace(fat, grams=fat.grams * factor) for fat in recipe.fats),
        acids=tuple(replace(acid, grams=acid.grams * factor) for acid in recipe.acids),
    )
    once, more = formulate(recipe), formulate(grown)
    for small, large in zip(once.alkalis, more.alkalis, strict=True):
        assert large.grams == pytest.approx(small.grams * factor)
    assert more.liquid_grams == pytest.approx(once.liquid_grams * factor)


@FEWER
@given(formulas(), st.floats(0.1, 5))
def test_more_superfat_means_less_lye(recipe: Formula, more: float) -> None:
    milder = replace(recipe, superfat=recipe.superfat + more)
    assert formulate(milder).alkalis[0].grams < formulate(recipe).alkalis[0].grams
