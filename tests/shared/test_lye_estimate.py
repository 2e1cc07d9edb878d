"""How hot a lye is likely to get, against the published heats and against a balance worked by hand."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.chemistry import M_NAOH, M_WATER, AlkaliKind
from shared.heat import heat_of_solution, specific_heat, table
from shared.ingredients import Alkali, FormulaError
from shared.lye_estimate import (
    LyeStart,
    boiling_celsius,
    heat_of_dilution,
    integral_heat,
    lye_estimate,
    melting_heat,
    specific_heat_of_ice,
    specific_heat_of_water,
)
from tests.shared.pots import potash, soda

PURE = soda(33, 100, 100)
HALF = Alkali(AlkaliKind.NAOH, 100, 50, 50, dissolved=True)
NO_LOSS = LyeStart(lost=0)


@pytest.mark.parametrize(("water", "heat"), table("integral_heat", "naoh"))
def test_integral_heats_meet_the_published_points(water: float, heat: float) -> None:
    """Felder and Rousseau, Table B.11."""
    assert integral_heat(AlkaliKind.NAOH, water) == pytest.approx(-heat)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 1000))
def test_the_bound_is_never_below_the_heat_as_known(water: float) -> None:
    assert heat_of_solution(AlkaliKind.NAOH, water) >= integral_heat(AlkaliKind.NAOH, water) - 1e-9


def test_in_less_water_than_tabled_the_heat_falls_in_proportion() -> None:
    assert integral_heat(AlkaliKind.NAOH, 1.5) == pytest.approx(28.87 / 2)


def test_potassium_hydroxide_is_taken_at_infinite_dilution() -> None:
    assert integral_heat(AlkaliKind.KOH, 5) == 57.61


def test_the_rise_of_35_7_per_cent_lye_agrees_with_the_worked_example() -> None:
    """1 mol in 4 mol water frees 34.43 kJ: 34430 J / (112.06 g x 3.50 J/(g K)) = 87.8 K, from 25 °C.

    The alkali itself comes from 20 °C, and takes 40 g x 1.49 J/(g K) x 5 K of it, less than 1 K.
    """
    lye = lye_estimate([soda(M_NAOH, 100, 100)], 4 * M_WATER, LyeStart(25, lost=0))
    cold_alkali = M_NAOH * 1.49 * 5 / (112.06 * 3.50)
    assert lye.most_celsius == pytest.approx(25 + 87.8 - cold_alkali, abs=0.5)


def test_the_most_stays_by_the_bound_of_the_plain_recipe() -> None:
    """All heat stays, and everything starts at 20 °C: within two kelvin of the balance at 25 °C."""
    for grams in (20, 25, 30, 33, 40, 50):
        mol = grams / M_NAOH
        heat = mol * heat_of_solution(AlkaliKind.NAOH, (100 - grams) / M_WATER / mol)
        bound = 20 + 1000 * heat / (100 * specific_heat(AlkaliKind.NAOH, grams))
        assert lye_estimate([soda(grams)], 100 - grams).most_celsius == pytest.approx(bound, abs=2)


def test_ordinary_lye_gets_near_ninety_degrees_and_does_not_boil() -> None:
    lye = lye_estimate([soda(33)], 67)
    assert lye.celsius == pytest.approx(92, abs=1)
    assert lye.most_celsius > 100
    assert lye.boiling_celsius > 115
    assert lye.near_boiling
    assert not lye.boils
    assert "15 % of the heat is lost" in lye.assumption
    assert "common practice, no source" in lye.assumption
    assert "Felder and Rousseau" in lye.source


def test_thin_lye_is_far_from_boiling() -> None:
    lye = lye_estimate([soda(20)], 80)
    assert not lye.near_boiling
    assert not lye.boils


def test_strong_potash_lye_can_boil_and_is_no_hotter_than_it_boils() -> None:
    lye = lye_estimate([potash(50)], 50)
    assert lye.boils
    assert lye.celsius == lye.boiling_celsius
    assert "infinite dilution" in lye.source


def test_of_two_alkalis_the_one_that_boils_first_counts() -> None:
    lye = lye_estimate([soda(15), potash(15)], 70)
    assert lye.boiling_celsius == boiling_celsius(AlkaliKind.KOH, 30) == 113


@pytest.mark.parametrize("kind", AlkaliKind)
def test_lye_boils_above_water_and_the_higher_the_stronger(kind: AlkaliKind) -> None:
    points = [boiling_celsius(kind, percent) for percent in range(0, 55, 5)]
    assert points[0] == 100
    assert points == sorted(points)
    assert points[-1] == 142
    assert boiling_celsius(kind, 70) == 142


@pytest.mark.parametrize("percent", [10, 20])
def test_boiling_points_agree_with_the_rise_of_an_ideal_solution(percent: float) -> None:
    """0.513 K for each mol of ions to a kg of water, the ebullioscopic constant of water (recalled)."""
    molal = 1000 * percent / (100 - percent) / M_NAOH
    assert boiling_celsius(AlkaliKind.NAOH, percent) - 100 == pytest.approx(0.513 * 2 * molal, abs=1)


# Cold, warm and frozen liquid


def test_each_degree_of_the_liquid_counts_by_its_share_of_the_heat() -> None:
    """67 g of water at 5 instead of 20 °C: 67 x 4.1819 x 15 J less in 100 g of lye of 3.516 J/(g K)."""
    warm, cold = lye_estimate([PURE], 67, NO_LOSS), lye_estimate([PURE], 67, LyeStart(5, lost=0))
    assert warm.celsius - cold.celsius == pytest.approx(67 * 4.1819 * 15 / 351.6, abs=0.01)


def test_ice_takes_its_heat_of_melting() -> None:
    """All of 67 g frozen at 0 °C: 333.4 J a gram, beside what warming the water from 0 °C takes."""
    water, ice = lye_estimate([PURE], 67, LyeStart(0, lost=0)), lye_estimate([PURE], 67, LyeStart(0, 100, 0))
    assert water.celsius - ice.celsius == pytest.approx(67 * 333.4 / 351.6, abs=0.01)
    assert "100 % of the water is ice, the rest at 0 °C" in ice.assumption


def test_ice_from_the_freezer_is_colder_still() -> None:
    """18 K x 2.04 J/(g K)."""
    thawing, frozen = (lye_estimate([PURE], 67, LyeStart(start, 100, 0)).celsius for start in (0, -18))
    assert thawing - frozen == pytest.approx(67 * 2.04 * 18 / 351.6, abs=0.01)


def test_where_the_heat_cannot_melt_all_ice_the_lye_stays_at_nought() -> None:
    assert lye_estimate([soda(2)], 98, LyeStart(-18, 100)).celsius == 0


def test_water_below_nought_is_taken_as_just_not_frozen() -> None:
    assert lye_estimate([PURE], 67, LyeStart(-5)) == lye_estimate([PURE], 67, LyeStart(-5))
    assert lye_estimate([PURE], 67, LyeStart(-5)).celsius == lye_estimate([PURE], 67, LyeStart(0)).celsius


def test_lost_heat_is_missing_from_the_rise() -> None:
    none, half = (
        lye_estimate([PURE], 67, LyeStart(25, lost=0)),
        lye_estimate([PURE], 67, LyeStart(25, lost=0.5)),
    )
    assert (half.celsius - 24.4) / (none.celsius - 24.4) == pytest.approx(0.5, abs=0.01)


def test_the_other_matter_of_milk_cools_the_likely_figure_and_not_the_bound() -> None:
    water, milk = lye_estimate([PURE], 67), lye_estimate([PURE], 67, other_grams=10)
    assert milk.celsius < water.celsius
    assert milk.most_celsius == water.most_celsius


def test_constants_of_water_and_ice() -> None:
    """IAPWS: 333.4 kJ/kg to melt, 4.1819 and 2.04 kJ/(kg K)."""
    assert (melting_heat(), specific_heat_of_water(), specific_heat_of_ice()) == (333.4, 4.1819, 2.04)


# Ready-made solutions


def test_thinning_half_strength_lye_frees_the_difference_of_two_heats() -> None:
    now = 50 / M_WATER / (50 / M_NAOH)
    expected = integral_heat(AlkaliKind.NAOH, 10) - integral_heat(AlkaliKind.NAOH, now)
    assert heat_of_dilution(HALF, 10) == pytest.approx(expected)
    assert heat_of_dilution(HALF, now) == 0


def test_thinned_lye_solution_warms_up_far_less() -> None:
    thinned = lye_estimate([HALF], 50)
    dry = lye_estimate([soda(50, 100, 100)], 100)
    assert 30 < thinned.celsius < 60
    assert thinned.celsius < dry.celsius - 20
    assert thinned.boiling_celsius == dry.boiling_celsius


def test_lye_solution_with_no_more_water_stays_as_it_is() -> None:
    assert lye_estimate([HALF], 0).celsius == pytest.approx(20, abs=0.1)


def test_thinned_potash_is_estimated_from_its_hydrate() -> None:
    """CRC Handbook (Parker 1965): KOH.H2O(c) frees 14.64 kJ/mol."""
    potash_lye = Alkali(AlkaliKind.KOH, 100, 50, 50, dissolved=True)
    assert heat_of_dilution(potash_lye, 10) == 14.64
    assert 25 < lye_estimate([potash_lye], 50).celsius < 70


def test_alkali_of_no_weight_changes_nothing() -> None:
    assert lye_estimate([PURE, potash(0)], 67) == lye_estimate([PURE], 67)


@settings(max_examples=60, deadline=None)
@given(st.floats(5, 50), st.floats(0, 40), st.floats(0, 100), st.floats(0, 0.9))
def test_the_likely_figure_never_exceeds_the_most(
    grams: float, celsius: float, frozen: float, lost: float
) -> None:
    lye = lye_estimate([soda(grams)], 100 - grams, LyeStart(celsius, frozen, lost))
    assert lye.celsius <= lye.most_celsius + 1e-9


# Bad input


@pytest.mark.parametrize("water", [0, -1, math.nan, math.inf, 1e9])
def test_lye_without_liquid_is_refused(water: float) -> None:
    with pytest.raises(FormulaError, match="Lye needs liquid") as caught:
        lye_estimate([PURE], water)
    assert caught.value.field == "liquid"


def test_lye_without_alkali_is_refused() -> None:
    with pytest.raises(FormulaError, match="Add the lye"):
        lye_estimate([], 100)


@pytest.mark.parametrize(
    "start",
    [
        LyeStart(-40),
        LyeStart(120),
        LyeStart(math.nan),
        LyeStart(frozen=-1),
        LyeStart(frozen=101),
        LyeStart(lost=-0.1),
        LyeStart(lost=1),
    ],
)
def test_a_start_that_cannot_be_is_refused(start: LyeStart) -> None:
    with pytest.raises(FormulaError, match="must start between -30 and 100 °C"):
        lye_estimate([PURE], 67, start)


def test_ice_water_with_twenty_mol_of_alkali() -> None:
    """20 mol NaOH in 80 mol water free 688.6 kJ (Felder and Rousseau, problem 8.83): a rise of 87.8 K."""
    lye = lye_estimate([soda(20 * M_NAOH, 100, 100)], 80 * M_WATER, LyeStart(0, lost=0))
    alkali_was_warm = M_NAOH * 1.49 * 20 / (112.06 * 3.50)
    assert lye.most_celsius - alkali_was_warm == pytest.approx(87.8, abs=3)


def test_how_the_figure_is_known_stands_with_it() -> None:
    plain = lye_estimate([soda(30)], 70).source
    assert "Felder and Rousseau" in plain
    assert "stronger than that table" not in plain
    assert "stronger than that table" in lye_estimate([soda(50)], 50).source
    mixed = lye_estimate([soda(10), potash(40)], 50).source
    assert "infinite dilution" in mixed
    assert "a lower bound" in mixed
    assert lye_estimate([soda(10), soda(20)], 70).source == plain
