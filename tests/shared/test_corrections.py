"""The way back from a pot that went wrong."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.chemistry import AcidKind
from shared.corrections import superfat_without_lye
from shared.saponification import (
    Acid,
    Alkali,
    Fat,
    FatOnHand,
    Formula,
    FormulaError,
    Sap,
    Verdict,
    assess,
    correction,
    formulate,
    restore,
)
from tests.shared.pots import FOUR_FATS, centred, formula, formulas, potash, saps, soda

OLIVE = FatOnHand("Olive oil", centred(184, 196), 500)
COCONUT = FatOnHand("Coconut oil", centred(248, 265), 500)
FEWER = settings(max_examples=40, deadline=None)


# The superfat to plan with


@FEWER
@given(formulas())
def test_planned_with_so_much_superfat_not_even_the_worst_case_leaves_lye(recipe: Formula) -> None:
    first = formulate(recipe)
    superfat = superfat_without_lye(first.safety.worst_low, recipe.superfat)
    if superfat is not None:
        again = formulate(replace(recipe, superfat=superfat))
        assert again.safety.worst_low >= 0


def test_more_superfat_than_a_recipe_can_have_is_not_asked_for() -> None:
    assert superfat_without_lye(-40, 5) is None
    assert superfat_without_lye(-2, 29) is None
    assert superfat_without_lye(-0.6, 5) == 6


# The nominal correction


@FEWER
@given(formulas(), saps(), st.floats(0.1, 20))
def test_a_correction_restores_the_superfat_aimed_at(recipe: Formula, sap: Sap, too_much: float) -> None:
    alkalis = tuple(
        replace(alkali, grams=alkali.grams * (1 + too_much / 100)) for alkali in formulate(recipe).alkalis
    )
    grams = correction(recipe.fats, alkalis, recipe.acids, superfat=recipe.superfat, fat=sap)
    mended = (*recipe.fats, Fat("Added", grams, sap))
    assert grams > 0
    assert assess(mended, alkalis, recipe.acids).nominal == pytest.approx(recipe.superfat, abs=1e-9)


def test_a_pot_that_is_fat_enough_needs_nothing() -> None:
    assert correction(FOUR_FATS, (soda(130),), superfat=5, fat=centred(184, 196)) == 0


@pytest.mark.parametrize(
    ("superfat", "sap", "field"),
    [(40, Sap(184, 190, 196), "superfat"), (5, Sap(0, 0, 0), "fats"), (math.nan, Sap(1, 1, 1), "superfat")],
)
def test_a_correction_that_cannot_be_computed_is_refused(superfat: float, sap: Sap, field: str) -> None:
    with pytest.raises(FormulaError) as caught:
        correction(FOUR_FATS, (soda(143),), superfat=superfat, fat=sap)
    assert caught.value.field == field


# Too much lye


def test_too_much_lye_is_mended_with_the_fat_that_takes_fewest_grams() -> None:
    ways = restore(FOUR_FATS, (soda(151),), superfat=5, on_hand=(OLIVE, COCONUT))
    assert [(way.name, way.grams) for way in ways] == [("Coconut oil", 44), ("Olive oil", 59)]
    for way in ways:
        assert way.kind == "fat"
        assert way.enough
        assert way.liquid_grams == 0
        assert way.after.verdict is Verdict.SAFE
        assert way.after.nominal >= 5


def test_a_fat_that_is_too_little_is_left_out_while_another_suffices() -> None:
    ways = restore(FOUR_FATS, (soda(151),), superfat=5, on_hand=(replace(COCONUT, grams_available=43), OLIVE))
    assert [way.name for way in ways] == ["Olive oil"]


def test_when_no_fat_suffices_each_says_how_much_would() -> None:
    little = tuple(replace(fat, grams_available=10) for fat in (OLIVE, COCONUT))
    ways = restore(FOUR_FATS, (soda(151),), superfat=5, on_hand=little)
    assert [(way.name, way.grams, way.enough) for way in ways] == [
        ("Coconut oil", 44, False),
        ("Olive oil", 59, False),
    ]


def test_without_any_fat_on_hand_there_is_no_way_back() -> None:
    assert restore(FOUR_FATS, (soda(151),), superfat=5, on_hand=()) == ()


def test_the_lot_to_take_is_passed_on() -> None:
    (way,) = restore(FOUR_FATS, (soda(151),), superfat=5, on_hand=(replace(OLIVE, lot="OL-1"),))
    assert way.lot == "OL-1"


def test_where_the_aim_itself_is_not_safe_more_fat_goes_in_until_it_is() -> None:
    alkalis = formulate(formula(superfat=2)).alkalis
    (way,) = restore(FOUR_FATS, alkalis, superfat=2, on_hand=(OLIVE,))
    assert way.after.verdict is Verdict.SAFE
    assert way.after.nominal > 2
    step_less = (*FOUR_FATS, Fat(OLIVE.name, way.grams - 1, OLIVE.sap))
    assert assess(step_less, alkalis).verdict is not Verdict.SAFE


@pytest.mark.parametrize(("step", "grams"), [(5.0, 65.0), (0.1, 58.9), (0.0, 58.85)])
def test_grams_are_whole_steps_of_the_scale(step: float, grams: float) -> None:
    fats, lye = FOUR_FATS, (soda(151),)
    (way,) = restore(fats, lye, superfat=5, on_hand=(OLIVE,), scale_step=step)
    exact = correction(fats, lye, superfat=5, fat=OLIVE.sap)
    assert way.grams >= exact - 1e-9
    assert way.grams == pytest.approx(math.ceil(exact / (step or 0.01)) * (step or 0.01))


@pytest.mark.parametrize(("lye", "aim"), [(2e5, 5), (1.3e5, 30)])
def test_a_pot_beyond_help_gets_none(lye: float, aim: float) -> None:
    """More than a tonne of fat would be needed, for a verdict of safe or only for the aim."""
    assert restore(FOUR_FATS, (soda(lye),), superfat=aim, on_hand=(OLIVE,)) == ()


# Too fat


def test_too_little_lye_is_mended_with_lye_and_liquid_at_the_same_strength() -> None:
    (way,) = restore(FOUR_FATS, (soda(135),), superfat=5, on_hand=(OLIVE,), liquid_grams=270)
    assert (way.kind, way.name, way.grams, way.liquid_grams) == ("lye", "Sodium hydroxide", 8, 16)
    assert 5 <= way.after.nominal < 6
    assert way.after.verdict is Verdict.SAFE
    assert way.enough


def test_either_alkali_of_a_two_alkali_soap_may_be_topped_up() -> None:
    ways = restore(FOUR_FATS, (soda(70), potash(80), soda(5)), superfat=5, on_hand=())
    assert [way.name for way in ways] == ["Sodium hydroxide", "Potassium hydroxide"]
    assert all(5 <= way.after.nominal < 6 for way in ways)


def test_lye_goes_in_only_as_far_as_it_is_safe() -> None:
    alkalis = (soda(135),)
    (way,) = restore(FOUR_FATS, alkalis, superfat=1, on_hand=())
    assert way.after.verdict is Verdict.SAFE
    assert way.after.nominal > 1
    assert assess(FOUR_FATS, (*alkalis, soda(way.grams + 1))).verdict is not Verdict.SAFE


def test_no_lye_is_offered_where_one_step_of_the_scale_is_too_much() -> None:
    fats, alkalis = (Fat("Olive oil", 400, centred(189, 191)),), (soda(49.5, 99, 99),)
    assert assess(fats, alkalis, scale_step=3).verdict is Verdict.SAFE
    assert assess(fats, alkalis, scale_step=3).nominal > 9
    assert restore(fats, alkalis, superfat=5, on_hand=(), scale_step=3) == ()
    assert [way.grams for way in restore(fats, alkalis, superfat=5, on_hand=(), scale_step=2)] == [2]


# Nothing to do


def test_a_pot_near_its_aim_is_left_alone() -> None:
    assert restore(FOUR_FATS, (soda(143),), superfat=5, on_hand=(OLIVE,)) == ()
    assert restore(FOUR_FATS, (soda(142),), superfat=5, on_hand=(OLIVE,)) == ()


@pytest.mark.parametrize("superfat", [-6, 31, math.nan])
def test_an_impossible_aim_is_refused(superfat: float) -> None:
    with pytest.raises(FormulaError, match="Superfat"):
        restore(FOUR_FATS, (soda(143),), superfat=superfat, on_hand=())


@FEWER
@given(formulas(), st.floats(0.85, 1.15), st.sampled_from([0.1, 1.0, 5.0]))
def test_every_way_back_leads_back(recipe: Formula, slip: float, step: float) -> None:
    alkalis: tuple[Alkali, ...] = tuple(
        replace(alkali, grams=alkali.grams * slip) for alkali in formulate(recipe).alkalis
    )
    aim = max(recipe.superfat, 0.0)
    for way in restore(recipe.fats, alkalis, recipe.acids, superfat=aim, on_hand=(OLIVE,), scale_step=step):
        assert way.grams > 0
        assert way.after.verdict is Verdict.SAFE
        assert way.after.nominal >= aim - 1e-9


def test_acid_in_the_pot_leaves_less_to_mend() -> None:
    acid = (Acid(AcidKind.CITRIC, 10),)
    (plain,) = restore(FOUR_FATS, (soda(155),), superfat=5, on_hand=(OLIVE,))
    (sour,) = restore(FOUR_FATS, (soda(155),), acid, superfat=5, on_hand=(OLIVE,))
    assert (sour.grams, plain.grams) == (41, 89)
