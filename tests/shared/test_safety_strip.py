"""The picture of a safety range puts every figure where it belongs."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.safety_strip import BAR_BOTTOM, BAR_TOP, WIDTH, Strip, lay_out


def strip(*, low: float = 2.2, high: float = 7.7, worst: tuple[float, float] = (-0.6, 10.6)) -> Strip:
    return lay_out(likely_low=low, likely_high=high, worst_low=worst[0], worst_high=worst[1], aim=5)


@given(figures=st.lists(st.floats(-60, 90), min_size=4, max_size=4).map(sorted), aim=st.floats(-5, 30))
def test_order_is_kept_and_nothing_leaves_the_picture(figures: list[float], aim: float) -> None:
    worst_low, likely_low, likely_high, worst_high = figures
    laid = lay_out(
        likely_low=likely_low, likely_high=likely_high, worst_low=worst_low, worst_high=worst_high, aim=aim
    )
    places = [laid.worst_low, laid.likely_low, laid.likely_high, laid.worst_high]
    assert places == sorted(places)
    assert laid.aim is not None
    assert all(0 <= place <= WIDTH for place in [*places, laid.aim, laid.zero, *(t.x for t in laid.ticks)])


def test_the_worst_case_below_zero_lies_in_the_lye_heavy_side() -> None:
    assert strip().worst_low < strip().zero < strip().likely_low


def test_the_axis_is_even() -> None:
    zero, five, ten = strip().ticks[:3]
    assert [tick.label for tick in strip().ticks] == ["0", "5", "10 %"]
    assert five.x - zero.x == pytest.approx(ten.x - five.x, abs=0.2)
    assert strip().aim == five.x


def test_a_wide_range_is_marked_in_tens() -> None:
    assert [tick.label for tick in strip(worst=(-15, 34)).ticks] == ["0", "10", "20", "30 %"]


@pytest.mark.parametrize("worst", [(1, 9), (-4, 20), (-19, 39)])
def test_the_lye_heavy_side_has_room_for_its_word(worst: tuple[float, float]) -> None:
    assert strip(worst=worst).zero >= 70


def test_the_hatch_stays_in_its_box() -> None:
    laid = strip()
    points = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", laid.hatch)
    assert len(points) > 10
    assert all(0 <= float(x) <= laid.zero and BAR_TOP <= float(y) <= BAR_BOTTOM for x, y in points)


def test_without_an_aim_none_is_drawn() -> None:
    laid = lay_out(likely_low=1, likely_high=2, worst_low=0, worst_high=3)
    assert laid.aim is None
    assert laid.aim_word is None


@pytest.mark.parametrize("aim", [-5, 0, 5, 30])
def test_the_word_of_the_aim_stays_clear_of_the_words_at_both_ends(aim: float) -> None:
    laid = lay_out(likely_low=1, likely_high=2, worst_low=0, worst_high=3, aim=aim)
    assert laid.aim_word is not None
    assert 90 <= laid.aim_word <= WIDTH - 70
