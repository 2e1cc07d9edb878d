"""Recipes whose lye is more than water: milk, vinegar, lye solution, liquid at trace, fat after the cook."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.chemistry import AcidKind, AlkaliKind
from shared.ingredients import FormulaError
from shared.liquids import WATER, Liquid, mixture, reference_liquids
from shared.saponification import (
    Acid,
    AlkaliChoice,
    Fat,
    FatKind,
    Formula,
    Formulation,
    LiquidMethod,
    LiquidPart,
    LiquidScope,
    Sap,
    Verdict,
    formulate,
)
from tests.shared.pots import FOUR_FATS, SODA, centred, formula, formulas

LIQUIDS = {key: reference.liquid for key, reference in reference_liquids().items()}
GOAT, VINEGAR, COCONUT, BEER = (
    LIQUIDS[key] for key in ("goat_milk", "distilled_vinegar", "coconut_milk", "beer")
)
HALF_STRENGTH = AlkaliChoice(AlkaliKind.NAOH, 49, 51, dissolved=True)


def with_liquids(*parts: LiquidPart, recipe: Formula | None = None, **changes: object) -> Formula:
    return replace(recipe or formula(), liquids=parts, **changes)  # type: ignore[arg-type]


def refused(recipe: Formula, field: str, words: str) -> None:
    with pytest.raises(FormulaError, match=words) as caught:
        formulate(recipe)
    assert caught.value.field == field


def alkali_in(made: Formulation) -> float:
    return sum(alkali.grams - alkali.water for alkali in made.alkalis)


def test_water_by_name_is_the_same_as_water_by_default() -> None:
    plain = formulate(formula())
    named = formulate(with_liquids(LiquidPart(WATER, 40), LiquidPart(WATER, 60)))
    assert named.liquid_grams == pytest.approx(plain.liquid_grams)
    assert named.safety == plain.safety
    assert plain.water_grams == plain.lye_water_grams == plain.liquid_grams


def test_of_milk_more_is_taken_so_that_its_water_dissolves_the_lye() -> None:
    plain, milk = formulate(formula()), formulate(with_liquids(LiquidPart(GOAT, 100)))
    assert milk.lye_concentration == pytest.approx(33)
    assert milk.liquid_grams * 0.8703 == pytest.approx(milk.water_grams)
    assert milk.liquid_grams > plain.liquid_grams * 1.1


def test_the_fat_of_milk_gets_its_alkali() -> None:
    """Superfat stays at the aim with the fat of the milk counted, which takes a little more alkali."""
    plain, milk = formulate(formula()), formulate(with_liquids(LiquidPart(GOAT, 100)))
    assert milk.safety.nominal == pytest.approx(5)
    more = milk.alkalis[0].grams - plain.alkalis[0].grams
    fat = GOAT.fat_in(milk.liquid_grams)
    assert fat is not None
    assert more * 0.985 == pytest.approx(0.95 * fat.mol * AlkaliKind.NAOH.molar_mass)


def test_vinegar_is_paid_for_in_alkali_and_leaves_acetate() -> None:
    made = formulate(with_liquids(LiquidPart(WATER, 100), LiquidPart(VINEGAR, grams=100)))
    plain = formulate(formula())
    more = (made.alkalis[0].grams - plain.alkalis[0].grams) * 0.985
    assert more == pytest.approx(2.664, abs=0.001)
    assert [salt.name for salt in made.salts] == ["Sodium acetate"]
    assert made.salts[0].grams == pytest.approx(4 * 82.034 / 60.052, abs=0.001)
    assert made.lye_concentration == pytest.approx(33)
    assert made.safety.nominal == pytest.approx(5)


def test_a_solution_of_an_acid_counts_by_its_strength() -> None:
    """10 g of lactic acid of 80 %: 8 g take 3.552 g of sodium hydroxide."""
    assert Acid(AcidKind.LACTIC, 10, 80).takes(AlkaliKind.NAOH) == pytest.approx(3.552, abs=0.001)
    assert Acid(AcidKind.CITRIC, 10).takes(AlkaliKind.NAOH) == pytest.approx(6.245, abs=0.001)
    weak, pure = (
        formulate(formula(acids=(acid,)))
        for acid in (
            Acid(AcidKind.LACTIC, 10, 80),
            Acid(AcidKind.LACTIC, 8),
        )
    )
    assert weak.alkalis == pure.alkalis
    assert weak.salts == pure.salts


@pytest.mark.parametrize("percent", [0, -1, 101, math.nan])
def test_an_acid_of_no_strength_is_refused(percent: float) -> None:
    refused(formula(acids=(Acid(AcidKind.LACTIC, 10, percent),)), "acids", "share must lie")


# A ready-made lye solution


def test_a_lye_solution_is_weighed_with_its_water() -> None:
    dry, wet = formulate(formula()), formulate(formula(alkalis=(HALF_STRENGTH,)))
    assert wet.alkalis[0].dissolved
    assert wet.alkalis[0].grams * 0.50 == pytest.approx(dry.alkalis[0].grams * 0.985)
    assert wet.lye_concentration == pytest.approx(33)
    assert wet.water_grams == pytest.approx(wet.liquid_grams + wet.alkalis[0].grams / 2)
    assert wet.lye_solution_grams == pytest.approx(wet.liquid_grams + wet.alkalis[0].grams)
    assert wet.safety.nominal == pytest.approx(5)


def test_a_lye_solution_just_as_strong_as_the_lye_needs_no_more_water() -> None:
    made = formulate(formula(alkalis=(HALF_STRENGTH,), value=50))
    assert made.liquid_grams == pytest.approx(0)
    assert made.lye_concentration == pytest.approx(50)


def test_a_lye_weaker_than_wished_already_is_refused() -> None:
    weak = AlkaliChoice(AlkaliKind.NAOH, 29, 31, dissolved=True)
    refused(formula(alkalis=(weak,), value=40), "liquid", "already brings .* water more")


def test_a_solution_stronger_than_dissolves_is_refused() -> None:
    strong = AlkaliChoice(AlkaliKind.NAOH, 55, 60, dissolved=True)
    refused(
        formula(alkalis=(strong,)), "alkalis", "Sodium hydroxide: a lye solution holds no more than 52.2 %"
    )


def test_with_lye_solution_the_rest_of_the_water_can_be_milk_at_trace() -> None:
    """Master-batched lye of 50 %, and all other water of the batter as goat milk at trace."""
    recipe = with_liquids(
        LiquidPart(GOAT, 100, at_trace=True),
        recipe=formula(alkalis=(HALF_STRENGTH,)),
        liquid_scope=LiquidScope.BATTER,
    )
    made = formulate(recipe)
    assert made.lye_concentration == pytest.approx(50)
    assert alkali_in(made) / (alkali_in(made) + made.water_grams) == pytest.approx(0.33)
    assert made.lye_solution_grams == pytest.approx(made.alkalis[0].grams)
    assert made.safety.nominal == pytest.approx(5)


# Liquid at trace

SPLIT = (LiquidPart(WATER, 60), LiquidPart(GOAT, 40, at_trace=True))


def test_the_lye_is_as_strong_as_stated_and_milk_at_trace_comes_on_top() -> None:
    made = formulate(with_liquids(*SPLIT))
    plain = formulate(formula())
    assert made.lye_concentration == pytest.approx(33)
    water, milk = made.liquids
    assert milk.grams / water.grams == pytest.approx(40 / 60)
    assert made.lye_water_grams == water.grams
    assert made.water_grams == pytest.approx(water.grams + 0.8703 * milk.grams)
    assert made.water_grams > plain.water_grams * 1.5


def test_or_the_figure_is_of_all_the_batter_and_the_lye_is_the_stronger_for_it() -> None:
    made = formulate(with_liquids(*SPLIT, liquid_scope=LiquidScope.BATTER))
    assert alkali_in(made) / (alkali_in(made) + made.water_grams) == pytest.approx(0.33)
    assert made.lye_concentration > 42
    assert made.lye_solution_grams == pytest.approx(made.alkalis[0].grams + made.liquids[0].grams)


@pytest.mark.parametrize(
    ("method", "value"),
    [(LiquidMethod.CONCENTRATION, 33), (LiquidMethod.RATIO, 2), (LiquidMethod.OF_FATS, 30)],
)
def test_each_way_to_state_it_counts_the_water_of_the_batter(method: LiquidMethod, value: float) -> None:
    recipe = with_liquids(*SPLIT, recipe=formula(method=method, value=value), liquid_scope=LiquidScope.BATTER)
    made = formulate(recipe)
    stated = {
        LiquidMethod.CONCENTRATION: 100 * alkali_in(made) / (alkali_in(made) + made.water_grams),
        LiquidMethod.RATIO: made.liquid_ratio,
        LiquidMethod.OF_FATS: made.liquid_of_fats,
    }
    assert stated[method] == pytest.approx(value)


def test_too_much_at_trace_leaves_a_lye_that_does_not_dissolve() -> None:
    parts = (LiquidPart(WATER, 30), LiquidPart(GOAT, 70, at_trace=True))
    refused(with_liquids(*parts, liquid_scope=LiquidScope.BATTER), "liquid", "no more than 52.2 %")
    alone = (LiquidPart(GOAT, 100, at_trace=True),)
    refused(with_liquids(*alone, liquid_scope=LiquidScope.BATTER), "liquid", "would be 100.0 %")


def test_with_nothing_for_the_lye_there_is_no_lye() -> None:
    refused(with_liquids(LiquidPart(GOAT, 100, at_trace=True)), "liquid", "too little water to the lye")


def test_fixed_liquids_with_too_much_water_are_refused() -> None:
    parts = (LiquidPart(WATER, 100), LiquidPart(BEER, grams=400))
    refused(with_liquids(*parts), "liquid", "already brings 77 g of water more")


def test_additives_with_water_are_liquids_of_fixed_weight_at_trace() -> None:
    honey = LiquidPart(LIQUIDS["honey"], grams=20, at_trace=True)
    made = formulate(with_liquids(LiquidPart(WATER, 100), honey))
    assert made.lye_concentration == pytest.approx(33)
    assert made.water_grams == pytest.approx(made.lye_water_grams + 20 * 0.171)


@pytest.mark.parametrize(
    "parts",
    [
        (LiquidPart(WATER, 60), LiquidPart(GOAT, 30)),
        (LiquidPart(WATER, 60), LiquidPart(GOAT, 50)),
        (),
    ],
)
def test_shares_that_do_not_add_up_are_refused(parts: tuple[LiquidPart, ...]) -> None:
    refused(with_liquids(*parts), "liquid", "add up to 100 %")


@pytest.mark.parametrize(
    "part",
    [
        LiquidPart(WATER, 100, 50),
        LiquidPart(WATER, -1),
        LiquidPart(WATER, math.nan),
        LiquidPart(WATER, 0, -5),
        LiquidPart(WATER, 0, math.inf),
    ],
)
def test_a_part_has_a_share_or_a_weight(part: LiquidPart) -> None:
    refused(with_liquids(LiquidPart(WATER, 100), part), "liquid", "share in % or its weight, not both")


def test_a_liquid_of_nonsense_is_refused() -> None:
    refused(with_liquids(LiquidPart(Liquid("Odd", 120), 100)), "liquid", "between 0 and 100 g")


def test_liquids_without_water_cannot_make_lye() -> None:
    dry = LiquidPart(LIQUIDS["sodium_lactate"], 100)
    refused(with_liquids(dry, recipe=formula(value=1)), "liquid", "too little")


def test_a_sour_liquid_that_takes_more_alkali_than_its_water_dissolves_is_refused() -> None:
    sour = Liquid("Sour", 60, acid=AcidKind.CITRIC, acid_least=40)
    refused(with_liquids(LiquidPart(sour, 100), recipe=formula(value=20)), "liquid", "too little water")


def test_more_than_a_tonne_is_refused() -> None:
    thin = mixture("Thin", [(WATER, 1), (LIQUIDS["sugar"], 99)])
    heavy = tuple(replace(fat, grams=fat.grams * 500) for fat in FOUR_FATS)
    refused(with_liquids(LiquidPart(thin, 100), recipe=formula(heavy, value=10)), "liquid", "tonne")


@settings(max_examples=60, deadline=None)
@given(
    formulas(),
    st.sampled_from(["water", "goat_milk", "coconut_milk", "orange_juice", "distilled_vinegar", "beer"]),
    st.floats(0, 60),
    st.sampled_from(LiquidScope),
    st.booleans(),
)
def test_water_and_superfat_come_out_as_asked(
    recipe: Formula, key: str, share: float, scope: LiquidScope, solution: bool
) -> None:
    """For whatever is mixed: the stated figure, the nominal superfat, and alkali by mol all hold."""
    if solution:
        recipe = replace(recipe, alkalis=(HALF_STRENGTH,))
    parts = (LiquidPart(WATER, 100 - share), LiquidPart(LIQUIDS[key], share, at_trace=True))
    made = formulate(
        replace(recipe, liquids=parts, liquid_scope=scope, liquid_method=LiquidMethod.RATIO, liquid_value=3.5)
    )
    counted = made.lye_water_grams if scope is LiquidScope.LYE else made.water_grams
    assert counted / alkali_in(made) == pytest.approx(3.5)
    assert made.safety.nominal == pytest.approx(recipe.superfat, abs=1e-6)


# Hot process


def test_fat_after_the_cook_is_superfat_for_which_no_alkali_is_weighed() -> None:
    shea = Fat("Shea butter", 60, centred(170, 190))
    cook = formula(superfat=0)
    made = formulate(replace(cook, after_cook=(shea,)))
    assert made.alkalis == formulate(cook).alkalis
    assert made.fat_grams == 1000
    assert made.before_after_cook is not None
    assert made.before_after_cook.nominal == pytest.approx(0, abs=1e-9)
    assert made.before_after_cook.verdict is Verdict.STOP
    n_fat, n_shea = sum(fat.mol for fat in FOUR_FATS), shea.mol
    assert made.safety.nominal == pytest.approx(100 * n_shea / (n_fat + n_shea))
    assert made.safety.verdict is Verdict.SAFE


def test_without_fat_after_the_cook_there_is_nothing_before_it() -> None:
    assert formulate(formula()).before_after_cook is None


def test_fat_after_the_cook_of_no_weight_is_refused() -> None:
    refused(replace(formula(), after_cook=(Fat("Shea", 0, centred(170, 190)),)), "fats", "at least one fat")


# Bad input


def test_wax_alone_makes_no_soap() -> None:
    wax = Fat("Beeswax", 100, Sap(87, 95, 104), kind=FatKind.WAX)
    refused(formula((wax,)), "fats", "Wax alone")
    assert formulate(formula((wax, FOUR_FATS[0]))).fat_grams == 550


def test_two_hundred_fats_are_worked_out() -> None:
    many = tuple(
        Fat(f"Fat {number}", 10, centred(180 + number / 10, 190 + number / 10)) for number in range(200)
    )
    made = formulate(formula(many))
    assert made.fat_grams == pytest.approx(2000)
    assert made.safety.nominal == pytest.approx(5)


def test_two_alkalis_one_of_them_dissolved() -> None:
    both = (replace(SODA, share=70), AlkaliChoice(AlkaliKind.KOH, 48, 50, 30, dissolved=True))
    made = formulate(formula(alkalis=both))
    assert made.lye_concentration == pytest.approx(33)
    mol = [alkali.mol for alkali in made.alkalis]
    assert mol[1] / sum(mol) == pytest.approx(0.3)
