"""Solubility and heat of lye, against the published points and their limits."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.chemistry import M_NAOH, M_WATER, AlkaliKind
from shared.heat import (
    heat_of_solution,
    lye_peak_celsius,
    max_concentration,
    solubility,
    specific_heat,
    table,
    water_density,
)
from shared.ingredients import FormulaError
from tests.shared.pots import potash, soda

# Grams per 100 g water, Polish physico-chemical handbook (romek.info table 04-26)
SOLUBILITIES = [
    (AlkaliKind.NAOH, 0, 42),
    (AlkaliKind.NAOH, 20, 109),
    (AlkaliKind.NAOH, 40, 129),
    (AlkaliKind.NAOH, 60, 174),
    (AlkaliKind.KOH, 0, 97),
    (AlkaliKind.KOH, 20, 112),
    (AlkaliKind.KOH, 50, 140),
    (AlkaliKind.KOH, 100, 178),
]
# kJ set free per mol NaOH in so many mol of water: Felder and Rousseau, Table B.11
INTEGRAL_HEATS = [(3, 28.87), (4, 34.43), (5, 37.74), (10, 42.51), (20, 42.84)]


@pytest.mark.parametrize(("kind", "celsius", "grams"), SOLUBILITIES)
def test_solubility_meets_the_published_points(kind: AlkaliKind, celsius: float, grams: float) -> None:
    assert solubility(kind, celsius) == pytest.approx(100 * grams / (100 + grams))


def test_solubility_between_points_lies_on_the_line_and_beyond_them_at_the_end() -> None:
    low, high = solubility(AlkaliKind.KOH, 20), solubility(AlkaliKind.KOH, 50)
    assert solubility(AlkaliKind.KOH, 35) == pytest.approx((low + high) / 2)
    assert solubility(AlkaliKind.KOH, -10) == solubility(AlkaliKind.KOH, 0)
    assert solubility(AlkaliKind.KOH, 150) == solubility(AlkaliKind.KOH, 100)


def test_the_limit_at_the_bench_is_that_of_twenty_degrees() -> None:
    assert max_concentration(AlkaliKind.NAOH) == pytest.approx(52.2, abs=0.05)
    assert max_concentration(AlkaliKind.KOH) == pytest.approx(52.8, abs=0.05)


@given(st.sampled_from(AlkaliKind), st.floats(-20, 120), st.floats(0, 50))
def test_warm_water_never_dissolves_less(kind: AlkaliKind, celsius: float, warmer: float) -> None:
    assert solubility(kind, celsius + warmer) >= solubility(kind, celsius)


@pytest.mark.parametrize(("water", "heat"), INTEGRAL_HEATS)
def test_heat_of_solution_meets_the_published_points(water: float, heat: float) -> None:
    assert heat_of_solution(AlkaliKind.NAOH, water) == pytest.approx(heat)


@pytest.mark.parametrize(("water", "published"), table("integral_heat", "naoh"))
def test_no_published_heat_exceeds_the_bound(water: float, published: float) -> None:
    assert heat_of_solution(AlkaliKind.NAOH, water) >= -published - 1e-9


@given(st.floats(3, 20))
def test_between_points_the_bound_lies_just_above_the_line(water: float) -> None:
    heats = dict(INTEGRAL_HEATS)
    below = max(point for point in heats if point <= water)
    above = min(point for point in heats if point >= water)
    share = 0.0 if below == above else (1 / below - 1 / water) / (1 / below - 1 / above)
    line = heats[below] + share * (heats[above] - heats[below])
    assert line - 1e-9 <= heat_of_solution(AlkaliKind.NAOH, water) < line + 1.5


def test_in_less_water_than_the_table_has_the_last_value_bounds_the_heat() -> None:
    assert heat_of_solution(AlkaliKind.NAOH, 2) == 28.87


@pytest.mark.parametrize("water", [2.0, 5.0, 100.0])
def test_potassium_hydroxide_has_its_heat_at_infinite_dilution(water: float) -> None:
    """CRC Handbook, Enthalpy of Solution of Electrolytes (Parker 1965): -57.61 kJ/mol."""
    assert heat_of_solution(AlkaliKind.KOH, water) == 57.61


@pytest.mark.parametrize(
    ("kind", "concentration", "expected"),
    [
        # Laliberte (2009) correlation; water by IAPWS-IF97
        (AlkaliKind.NAOH, 0, 4.1819),
        (AlkaliKind.NAOH, 30, 3.536),
        (AlkaliKind.NAOH, 32.5, 3.536 - 0.02 * 2.5 / 3),
        (AlkaliKind.NAOH, 50, 3.417),
        (AlkaliKind.KOH, 30, 2.968),
        # beyond the table only what 50 g of water hold at 40 %, 83.3 g, counts
        (AlkaliKind.KOH, 50, 2.727 * 50 / 60),
    ],
)
def test_specific_heat_meets_the_published_points(
    kind: AlkaliKind, concentration: float, expected: float
) -> None:
    assert specific_heat(kind, concentration) == pytest.approx(expected)


def test_ordinary_lye_gets_hot_and_stronger_lye_hotter() -> None:
    weak, strong = lye_peak_celsius([soda(20)], 80), lye_peak_celsius([soda(33)], 67)
    assert weak.peak_celsius == pytest.approx(79, abs=1)
    assert not weak.boils
    assert strong.peak_celsius > 100
    assert strong.boils


def test_water_from_the_fridge_makes_cooler_lye() -> None:
    cold, warm = lye_peak_celsius([soda(33)], 67, 5), lye_peak_celsius([soda(33)], 67, 20)
    assert warm.peak_celsius - cold.peak_celsius == pytest.approx(15)
    assert not cold.boils


def test_ice_water_with_twenty_mol_of_alkali() -> None:
    """20 mol NaOH in 80 mol water free 688.6 kJ (Felder and Rousseau, problem 8.83): a rise of 87.8 K."""
    lye = lye_peak_celsius([soda(20 * M_NAOH, 100, 100)], 80 * M_WATER, 0)
    assert lye.peak_celsius == pytest.approx(87.8, abs=0.5)


def test_how_the_figure_is_known_stands_with_it() -> None:
    plain = lye_peak_celsius([soda(30)], 70).source
    assert "Felder and Rousseau" in plain
    assert "stronger than that table" not in plain
    assert "stronger than that table" in lye_peak_celsius([soda(50)], 50).source
    mixed = lye_peak_celsius([soda(10), potash(40)], 50).source
    assert "infinite dilution" in mixed
    assert "a lower bound" in mixed
    assert lye_peak_celsius([soda(10), soda(20)], 70).source == plain


def test_alkali_of_no_weight_changes_nothing() -> None:
    assert lye_peak_celsius([soda(30), potash(0)], 70) == lye_peak_celsius([soda(30)], 70)


@pytest.mark.parametrize("water", [0, -1, math.nan, math.inf])
def test_lye_without_liquid_is_refused(water: float) -> None:
    with pytest.raises(FormulaError, match="liquid") as caught:
        lye_peak_celsius([soda(30)], water)
    assert caught.value.field == "liquid"


def test_lye_without_alkali_is_refused() -> None:
    with pytest.raises(FormulaError, match="Add the lye"):
        lye_peak_celsius([], 100)


def test_density_of_water_is_read_from_the_table() -> None:
    """IAPWS-IF97: 0.99821 g/mL at 20 °C, 0.99705 at 25 °C."""
    assert water_density(20) == 0.99821
    assert water_density(25) == 0.99705
    assert 0.99565 < water_density(27) < 0.99705
