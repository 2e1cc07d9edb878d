"""How brown the vanillin of a fragrance will make a bar."""

import math
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.browning import (
    Browned,
    BrowningError,
    Forecast,
    Fragrance,
    Shade,
    bleeding,
    forecast,
    monotone_fit,
    shade_of,
    vanillin_in_bar,
)
from shared.explained import COMMON_PRACTICE

FATS_OF_BAR = 0.67
"""Of a fresh bar's weight."""
OWN = (
    Browned("A1", 0.02, 3),
    Browned("A2", 0.05, 12),
    Browned("A3", 0.1, 10),
    Browned("A4", 0.2, 22),
)
quick = settings(max_examples=60, deadline=None)
amounts = st.floats(0, 2)
browned = st.lists(
    st.builds(
        Browned, st.sampled_from("ABCDEF"), st.floats(0.001, 2).map(lambda x: round(x, 2)), st.floats(-5, 70)
    ),
    max_size=10,
)


# Common practice


def test_vanillin_in_the_bar_is_that_of_all_its_fragrances() -> None:
    assert vanillin_in_bar([Fragrance(9, 2), Fragrance(1, 0.5), Fragrance(0, 1)]) == pytest.approx(0.185)
    assert vanillin_in_bar([]) == 0


def test_nine_per_cent_of_vanillin_at_three_per_cent_of_the_fats_browns_strongly() -> None:
    """Common practice, no source."""
    found = forecast(vanillin_in_bar([Fragrance(9, 3 * FATS_OF_BAR)]))
    assert found.shade >= Shade.BROWN
    assert found.darkening > 30
    assert found.batches == 0
    assert found.verdict.text in {
        "It turns brown over days to weeks.",
        "It turns dark brown over days to weeks.",
    }
    assert "0.18 % vanillin in the bar; anything from" in found.verdict.because
    assert found.verdict.source == COMMON_PRACTICE


@pytest.mark.parametrize("readings", [(), OWN])
def test_without_fragrance_a_portion_stays_light(readings: tuple[Browned, ...]) -> None:
    found = forecast(vanillin_in_bar([]), readings)
    assert (found.darkening, found.low, found.high) == (0, 0, 0)
    assert found.shade is Shade.LIGHT
    assert found.verdict.text == "It stays light."
    assert found.verdict.because == "0 % vanillin in the bar"
    assert found.verdict.source == COMMON_PRACTICE


@pytest.mark.parametrize(
    ("vanillin", "shade"),
    [(0.001, "light"), (0.03, "tan"), (0.1, "brown"), (0.3, "dark brown"), (50, "dark brown")],
)
def test_the_more_vanillin_the_browner(vanillin: float, shade: str) -> None:
    found = forecast(vanillin)
    assert found.shade.label == shade
    assert found.low == pytest.approx(found.darkening / 2)
    assert found.high == pytest.approx(found.darkening * 1.5)


@pytest.mark.parametrize(
    ("darkening", "shade"),
    [
        (-3, Shade.LIGHT),
        (5.9, Shade.LIGHT),
        (6, Shade.TAN),
        (17.9, Shade.TAN),
        (18, Shade.BROWN),
        (37.9, Shade.BROWN),
        (38, Shade.DARK),
    ],
)
def test_a_shade_begins_where_it_says(darkening: float, shade: Shade) -> None:
    assert shade_of(darkening) is shade


@pytest.mark.parametrize("wrong", [-1, 101, math.nan, math.inf])
def test_a_figure_that_cannot_be_is_refused(wrong: float) -> None:
    for field, call in (
        ("vanillin", lambda: vanillin_in_bar([Fragrance(wrong, 2)])),
        ("fragrance", lambda: vanillin_in_bar([Fragrance(2, wrong)])),
        ("vanillin", lambda: forecast(wrong)),
        ("readings", lambda: forecast(0.1, [Browned("A1", wrong, 3)])),
        ("readings", lambda: forecast(0.1, [Browned("A1", 0.1, 3), Browned("A2", 0.1, 2 * wrong - 100)])),
    ):
        with pytest.raises(BrowningError) as caught:
            call()
        assert caught.value.field == field


def test_a_bar_cannot_be_more_than_all_fragrance() -> None:
    with pytest.raises(BrowningError, match="between 0 and 100 % of the bar"):
        vanillin_in_bar([Fragrance(2, 60), Fragrance(2, 60)])


# What the readings teach


def test_two_batches_teach_nothing_yet() -> None:
    assert forecast(0.1, [*OWN[:2], OWN[1], Browned("A9", 0, 1)]) == forecast(0.1)


def test_from_three_batches_on_the_workshops_own_readings_decide() -> None:
    found = forecast(0.2, OWN)
    assert found.batches == 4
    assert found.darkening == 22
    assert forecast(0.2).darkening == 40
    assert found.verdict.source == "the colours of 4 batches of your own"


def test_readings_that_contradict_each_other_are_pooled() -> None:
    assert monotone_fit(OWN) == ((0, 0), (0.02, 3), (0.05, 11), (0.1, 11), (0.2, 22))
    assert forecast(0.07, OWN).darkening == 11


def test_readings_of_the_same_vanillin_are_averaged_and_a_paler_bar_counts_as_unchanged() -> None:
    readings = [Browned("A1", 0.1, 10), Browned("A2", 0.1, 20), Browned("A3", 0.01, -2)]
    assert monotone_fit(readings) == ((0, 0), (0.01, 0), (0.1, 15))


def test_the_spread_is_what_the_others_miss_each_reading_by() -> None:
    """Left out in turn, three readings on one amount of vanillin are missed by 3, 0 and 3: twice their
    root mean square is 4.9; where all agree it is 3."""
    apart = [Browned(batch, 0.1, darkening) for batch, darkening in (("A", 10), ("B", 12), ("C", 14))]
    found = forecast(0.1, apart)
    assert found.high - found.darkening == pytest.approx(2 * math.sqrt((9 + 0 + 9) / 3))
    same = [Browned(batch, 0.1, 12) for batch in "ABC"]
    assert forecast(0.1, same).high == 15


def test_beyond_what_was_seen_common_practice_decides_but_never_for_less() -> None:
    assert forecast(0.4, OWN).darkening == forecast(0.4).darkening
    assert (
        forecast(0.4, OWN).verdict.source
        == "more vanillin than in any of your own 4 batches; common practice, no source"
    )
    pitch = [Browned(batch, 0.01, 60) for batch in "ABC"]
    found = forecast(0.02, pitch)
    assert (found.darkening, found.low, found.high) == (60, 30, 90)


@quick
@given(browned, amounts, amounts)
def test_more_vanillin_never_browns_less(readings: list[Browned], one: float, other: float) -> None:
    less, more = forecast(min(one, other), readings), forecast(max(one, other), readings)
    assert less.darkening <= more.darkening + 1e-9
    assert 0 <= less.low <= less.darkening <= less.high


@quick
@given(browned)
def test_the_fit_is_the_one_of_least_squares(readings: list[Browned]) -> None:
    """By the min-max formula of isotonic regression, which pools nothing."""
    xs = sorted({reading.vanillin for reading in readings})
    groups = [[one.darkening for one in readings if one.vanillin == x] for x in xs]

    def mean(start: int, end: int) -> float:
        values = [value for group in groups[start : end + 1] for value in group]
        return sum(values) / len(values)

    last = len(xs)
    expected = [
        max(min(mean(start, end) for end in range(index, last)) for start in range(index + 1))
        for index in range(last)
    ]
    fit = monotone_fit(readings)
    assert fit[0] == (0, 0)
    assert [x for x, _ in fit[1:]] == xs
    assert [y for _, y in fit[1:]] == pytest.approx([max(value, 0) for value in expected], abs=1e-9)


@quick
@given(browned, amounts, st.randoms())
def test_the_order_of_readings_does_not_matter(
    readings: list[Browned], vanillin: float, random: Random
) -> None:
    shuffled = readings[:]
    random.shuffle(shuffled)
    one, other = forecast(vanillin, readings), forecast(vanillin, shuffled)
    assert (one.darkening, one.low, one.high) == pytest.approx((other.darkening, other.low, other.high))


# Side by side


def test_a_pale_portion_beside_a_brown_one_is_warned_of() -> None:
    portions: dict[str, Forecast] = {
        "Cream": forecast(0),
        "Base": forecast(0.18),
        "Swirl": forecast(0.1),
        "Top": forecast(0.03),
    }
    warned = bleeding(portions)
    assert [statement.text for statement in warned] == [
        "Cream may turn brown at its edges where it touches Base.",
        "Top may turn brown at its edges where it touches Base.",
    ]
    assert warned[0].source == COMMON_PRACTICE


def test_where_nothing_turns_brown_nothing_bleeds() -> None:
    assert bleeding({}) == ()
    assert bleeding({"Cream": forecast(0), "Top": forecast(0.03)}) == ()
