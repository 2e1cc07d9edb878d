import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.density import (
    PRIOR_SPREAD,
    READING_SPREAD,
    USUAL,
    DensityError,
    learned,
    reading,
)
from shared.moulds import FAT_DENSITY, Part, batter_density, lye_solution_density
from tests.shared.pots import soda

DENSITIES = st.floats(0.1, 3)


def test_without_any_pour_the_parts_alone_count() -> None:
    told = learned([], 1.02)
    assert (told.mean, told.number) == (1.02, 0)
    assert told.spread == pytest.approx(math.hypot(PRIOR_SPREAD, READING_SPREAD))


def test_one_pour_moves_it_by_how_sure_each_of_the_two_is() -> None:
    """By hand: weights 1 / 0.03² and 1 / 0.02² are 1111.1 and 2500, so the mean lies at 9 of 13 parts."""
    told = learned([0.95], 1.02)
    assert told.mean == pytest.approx(1.02 - 0.07 * 9 / 13)
    assert told.spread == pytest.approx(math.sqrt(1 / (1 / 0.0009 + 1 / 0.0004) + 0.0004))


def test_pours_that_stray_count_for_less_than_pours_that_agree() -> None:
    steady, unsteady = learned([0.95, 0.95, 0.95], 1.02), learned([0.85, 0.95, 1.05], 1.02)
    assert steady.mean < unsteady.mean < 1.02
    assert steady.spread < unsteady.spread


def test_many_pours_that_agree_outweigh_the_parts() -> None:
    assert learned([0.95] * 200, 1.02).mean == pytest.approx(0.95, abs=0.001)


def test_two_pours_that_agree_by_luck_are_not_taken_for_certain() -> None:
    assert learned([0.95, 0.95], 1.02).spread > 0.01


@given(st.lists(DENSITIES, max_size=12), DENSITIES)
def test_it_lies_between_what_the_parts_and_the_pours_say(readings: list[float], prior: float) -> None:
    told = learned(readings, prior)
    assert min([*readings, prior]) - 1e-9 <= told.mean <= max([*readings, prior]) + 1e-9
    assert 0 < told.spread < 2
    assert told.number == len(readings)


@given(st.lists(DENSITIES, min_size=2, max_size=8), DENSITIES)
def test_the_order_of_the_pours_does_not_matter(readings: list[float], prior: float) -> None:
    assert learned(readings, prior).mean == pytest.approx(learned(readings[::-1], prior).mean)


def test_it_says_where_it_comes_from() -> None:
    assert (
        learned([], 1.02).source.text == "No pour has told yet: reckoned from the parts of the batter alone."
    )
    told = learned([0.95, 0.97], 1.02).source
    assert told.text == "From earlier pours, 2 in all, and from the parts of the batter."
    assert told.because == "Its parts come to 1.02 g/mL."
    assert "Bayesian Data Analysis" in told.source
    assert "common practice, no source" in told.source


@pytest.mark.parametrize("density", [0.0999, 3.001, 0, -1, math.nan, math.inf])
def test_what_no_batter_weighs_is_refused(density: float) -> None:
    with pytest.raises(DensityError) as caught:
        learned([1.0, density], 1.0)
    assert caught.value.field == "readings"
    with pytest.raises(DensityError) as caught:
        learned([1.0], density)
    assert caught.value.field == "prior"


def test_a_pour_weighs_so_much_for_the_room_it_took() -> None:
    assert reading(980, 1000) == pytest.approx(0.98)


@pytest.mark.parametrize("volume", [0, -1, math.nan, 1e-9])
def test_a_pour_without_room_is_refused(volume: float) -> None:
    with pytest.raises(DensityError) as caught:
        reading(980, volume)
    assert caught.value.field == "readings"


def test_the_usual_density_is_what_plain_oils_and_soda_lye_come_to() -> None:
    """1000 g of olive oil at 5 % superfat take 129 g of sodium hydroxide, 33 % of its lye."""
    alkali, water = soda(129), 262.0
    lye = lye_solution_density([alkali], water)
    batter = batter_density([Part(1000, FAT_DENSITY), Part(129 + water, lye)])
    assert batter == pytest.approx(USUAL, abs=0.01)
