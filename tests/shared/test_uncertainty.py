"""Distribution of sums, against closed forms."""

import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.uncertainty import Term, chance_below, quantile

WIDTHS = st.floats(0.001, 10)
SUMS = st.lists(
    st.builds(Term.rectangle, WIDTHS) | st.builds(Term.triangle, st.floats(0, 10), WIDTHS),
    min_size=1,
    max_size=6,
)


def irwin_hall(x: float, n: int) -> float:
    """Distribution of the sum of n rectangles on 0..1. Hall, Biometrika 19 (1927) 240-244."""
    terms = ((-1) ** k * math.comb(n, k) * (x - k) ** n for k in range(math.floor(x) + 1))
    return float(sum(terms) / math.factorial(n))


@pytest.mark.parametrize("threshold", [-3.0, -1.0, -0.999, -0.3, 0.0, 0.5, 1.0, 2.0])
def test_one_rectangle_is_a_straight_line(threshold: float) -> None:
    expected = min(max((threshold + 1) / 2, 0), 1)
    assert chance_below(threshold, [Term.rectangle(1.0)]) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("n", [2, 3, 5, 8, 12])
@pytest.mark.parametrize("share", [0.05, 0.2, 0.4, 0.5, 0.7, 0.93])
def test_equal_rectangles_follow_the_closed_form(n: int, share: float) -> None:
    chance = chance_below(n * (share - 0.5), [Term.rectangle(0.5)] * n)
    assert chance == pytest.approx(irwin_hall(n * share, n), abs=3e-6)


@pytest.mark.parametrize("ratio", [1.0, 0.3, 0.01, 1e-4, 1e-7, 1e-12])
@pytest.mark.parametrize("place", [-0.9, -0.5, 0.0, 0.7])
def test_two_rectangles_of_any_ratio_make_a_trapezium(ratio: float, place: float) -> None:
    """Near its foot the distribution of wide + narrow is ((s + wide + narrow)^2) / (8 wide narrow)."""
    at = -1 + place * ratio
    exact = (at + 1 + ratio) ** 2 / (8 * ratio)
    assert chance_below(at, [Term.rectangle(1.0), Term.rectangle(ratio)]) == pytest.approx(exact, abs=3e-6)


@pytest.mark.parametrize(("below", "above"), [(1.0, 1.0), (0.2, 3.0), (3.0, 0.2), (0.0, 2.0), (2.0, 0.0)])
@pytest.mark.parametrize("share", [0.0, 0.05, 0.3, 0.6, 0.95, 1.0])
def test_one_triangle_is_two_parabolas(below: float, above: float, share: float) -> None:
    width = below + above
    x = share * width
    exact = x * x / (width * below) if x < below else 1 - (width - x) ** 2 / (width * above) if above else 1.0
    mean = (below + width) / 3
    assert chance_below(x - mean, [Term.triangle(below, above)]) == pytest.approx(exact, abs=2e-5)


def test_two_equal_rectangles_equal_one_triangle() -> None:
    for threshold in np.linspace(-2, 2, 41):
        two = chance_below(threshold, [Term.rectangle(1.0), Term.rectangle(1.0)])
        assert two == pytest.approx(chance_below(threshold, [Term.triangle(2.0, 2.0)]), abs=3e-6)


def test_a_dominant_lopsided_term_keeps_its_shape() -> None:
    """A narrow rectangle hardly changes the right-angled triangle it is added to."""
    wide, narrow = Term.triangle(0.0, 3.0), Term.rectangle(1e-4)
    for threshold in (-0.9, -0.5, 0.0, 1.0, 1.9):
        assert chance_below(threshold, [narrow, wide]) == pytest.approx(
            chance_below(threshold, [wide]), abs=1e-4
        )


def test_nothing_uncertain_is_certain() -> None:
    assert chance_below(0.1, []) == 1
    assert chance_below(0.0, [Term.rectangle(0.0)]) == 0
    assert chance_below(-0.1, [Term.triangle(0.0, 0.0)]) == 0


@pytest.mark.parametrize("width", [1e-300, 1e-15, 1e9])
def test_any_scale_of_widths_is_borne(width: float) -> None:
    terms = [Term.rectangle(width), Term.triangle(width, 2 * width)]
    assert chance_below(1.0 if width < 1 else 1e12, terms) == 1
    assert chance_below(-1.0 if width < 1 else -1e12, terms) == 0


@given(SUMS, st.floats(-20, 20))
def test_a_chance_is_a_chance(terms: list[Term], threshold: float) -> None:
    assert 0 <= chance_below(threshold, terms) <= 1


@given(SUMS, st.floats(-5, 5), st.floats(0, 5))
def test_a_higher_threshold_is_never_less_likely(terms: list[Term], threshold: float, more: float) -> None:
    assert chance_below(threshold + more, terms) >= chance_below(threshold, terms) - 5e-6


@given(SUMS, st.floats(-5, 5), st.floats(0.001, 1000))
def test_the_unit_does_not_matter(terms: list[Term], threshold: float, factor: float) -> None:
    scaled = chance_below(threshold * factor, [term.scaled(factor) for term in terms])
    assert scaled == pytest.approx(chance_below(threshold, terms), abs=5e-6)


@given(st.lists(WIDTHS, min_size=1, max_size=6), st.floats(-5, 5))
def test_rectangles_are_even(widths: list[float], threshold: float) -> None:
    terms = [Term.rectangle(width) for width in widths]
    assert chance_below(threshold, terms) == pytest.approx(1 - chance_below(-threshold, terms), abs=5e-6)


@given(st.floats(0, 10), WIDTHS, st.floats(0.01, 100))
def test_the_envelope_bounds_the_characteristic_function(below: float, above: float, t: float) -> None:
    term = Term.triangle(below, above)
    assert abs(term.characteristic(t)) <= term.envelope(t) + 1e-9


@pytest.mark.parametrize("chance", [0.001, 0.025, 0.5, 0.975])
def test_a_quantile_undoes_its_distribution(chance: float) -> None:
    normal = NormalDist(3, 0.5)
    found = quantile(normal.cdf, chance, guess=2.8, spread=0.7, low=-10, high=10)
    assert found == pytest.approx(normal.inv_cdf(chance), abs=0.005)


def test_a_quantile_is_found_where_the_first_guess_lies_outside() -> None:
    """On a rectangle of half-width 1 the normal guess for 2.5 % lies beyond the end."""

    def distribution(x: float) -> float:
        return min(max((x + 1) / 2, 0), 1)

    found = quantile(distribution, 0.025, guess=0.0, spread=1 / math.sqrt(3), low=-1, high=1)
    assert found == pytest.approx(-0.95, abs=0.002)


def test_a_quantile_of_a_jump_ends_at_the_jump() -> None:
    found = quantile(lambda x: float(x > 0.3), 0.025, guess=0.0, spread=1.0, low=-1, high=1)
    assert found == pytest.approx(0.3, abs=0.01)
