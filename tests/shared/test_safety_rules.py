"""Rules of the safety range that hold for every pot."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.saponification import (
    Fat,
    Formula,
    assess,
    formulate,
)
from tests.shared.pots import NEARLY, centred, formulas, pot_of, same

FEWER = settings(max_examples=60, deadline=None)


@FEWER
@given(formulas())
def test_figures_stand_in_order(recipe: Formula) -> None:
    found = formulate(recipe).safety
    assert found.worst_low <= found.likely_low <= found.likely_high <= found.worst_high
    assert found.worst_low <= found.nominal <= found.worst_high
    assert 0 <= found.chance_lye_heavy <= 1
    assert found.nominal == pytest.approx(recipe.superfat, abs=1e-9)


@FEWER
@given(formulas(), st.floats(0.1, 10))
def test_pot_and_scale_grown_alike_keep_their_range(recipe: Formula, factor: float) -> None:
    grown = replace(
        recipe,
        fats=tuple(replace(fat, grams=fat.grams * factor) for fat in recipe.fats),
        acids=tuple(replace(acid, grams=acid.grams * factor) for acid in recipe.acids),
    )
    same(formulate(grown, scale_step=factor).safety, formulate(recipe, scale_step=1).safety, NEARLY)


@FEWER
@given(formulas(), st.randoms(use_true_random=False))
def test_the_order_of_fats_does_not_matter(recipe: Formula, random: object) -> None:
    shuffled = list(recipe.fats)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    same(formulate(replace(recipe, fats=tuple(shuffled))).safety, formulate(recipe).safety, NEARLY)


@FEWER
@given(formulas(), st.floats(0.1, 50))
def test_more_lye_never_raises_superfat_or_lowers_the_chance_of_lye(recipe: Formula, more: float) -> None:
    pot = pot_of(recipe)
    heavier = (replace(pot.alkalis[0], grams=pot.alkalis[0].grams + more), *pot.alkalis[1:])
    before, after = pot.assess(), assess(pot.fats, heavier, pot.acids)
    assert after.nominal < before.nominal
    assert after.worst_low < before.worst_low
    assert after.worst_high < before.worst_high
    assert after.likely_low < before.likely_low + NEARLY
    assert after.likely_high < before.likely_high + NEARLY
    assert after.chance_lye_heavy >= before.chance_lye_heavy - 1e-5


@FEWER
@given(formulas(), st.floats(1, 300))
def test_more_fat_never_lowers_superfat_or_raises_the_chance_of_lye(recipe: Formula, more: float) -> None:
    pot = pot_of(recipe)
    before = pot.assess()
    after = assess((*pot.fats, Fat("Added", more, centred(185, 195), "lot")), pot.alkalis, pot.acids)
    assert after.nominal > before.nominal
    assert after.worst_low > before.worst_low - 100 * 0.5 / sum(fat.grams for fat in pot.fats)
    assert after.chance_lye_heavy <= before.chance_lye_heavy + 0.01


@FEWER
@given(formulas(even=True), st.integers(0, 4), st.floats(0, 1))
def test_knowing_a_fat_better_never_widens_the_range(recipe: Formula, which: int, factor: float) -> None:
    """For ranges about their middle; a lopsided one changes its shape when cut."""
    pot = pot_of(recipe)
    known = pot.fats[which % len(pot.fats)]
    half = factor * (known.sap.high - known.sap.low) / 2
    middle = (known.sap.high + known.sap.low) / 2
    narrowed = tuple(
        replace(fat, sap=centred(middle - half, middle + half)) if fat is known else fat for fat in pot.fats
    )
    before, after = pot.assess(), assess(narrowed, pot.alkalis, pot.acids)
    assert after.worst_low >= before.worst_low - 1e-9
    assert after.worst_high <= before.worst_high + 1e-9
    assert after.standard_uncertainty <= before.standard_uncertainty + 1e-9
    assert after.likely_high - after.likely_low <= before.likely_high - before.likely_low + NEARLY


@FEWER
@given(formulas(), st.floats(0, 1))
def test_a_finer_scale_and_a_surer_lye_never_widen_the_range(recipe: Formula, factor: float) -> None:
    pot = pot_of(recipe)
    surer = tuple(
        replace(
            alkali,
            purity_low=alkali.purity - factor * (alkali.purity - alkali.purity_low),
            purity_high=alkali.purity + factor * (alkali.purity_high - alkali.purity),
        )
        for alkali in pot.alkalis
    )
    before, after = pot.assess(), assess(pot.fats, surer, pot.acids, scale_step=factor)
    assert after.worst_low >= before.worst_low - 1e-9
    assert after.worst_high <= before.worst_high + 1e-9
    assert after.likely_high - after.likely_low <= before.likely_high - before.likely_low + NEARLY
