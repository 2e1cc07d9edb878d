"""Solubility and heat of lye, against the published points and their limits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.chemistry import AlkaliKind
from shared.heat import (
    heat_of_solution,
    max_concentration,
    solubility,
    specific_heat,
    table,
    water_density,
)

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


def test_density_of_water_is_read_from_the_table() -> None:
    """IAPWS-IF97: 0.99821 g/mL at 20 °C, 0.99705 at 25 °C."""
    assert water_density(20) == 0.99821
    assert water_density(25) == 0.99705
    assert 0.99565 < water_density(27) < 0.99705
