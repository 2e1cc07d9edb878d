"""A block of soap is cut into bars, and nothing of it gets lost on the way."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.cuts import (
    MOST_BARS,
    Block,
    Cavities,
    CutError,
    LoafPlan,
    Span,
    block_of_density,
    loaf_by_number,
    loaf_by_thickness,
    slab_plan,
)
from shared.words import Phrase

LOAF = Block(250, 80, 65, 1300)
IMPOSSIBLE = [-1.0, math.nan, math.inf, -math.inf, 1e9]

lengths = st.floats(100, 2000)
trims = st.just(0.0) | st.floats(0.1, 8)
kerfs = st.just(0.0) | st.floats(0.05, 3)


def accounted_for(plan: LoafPlan) -> float:
    return len(plan.bars) * plan.thickness_mm + plan.kerfs_mm + 2 * plan.end_mm + plan.leftover_mm


# A loaf


def test_a_wire_takes_nothing_from_ten_bars_of_25_mm() -> None:
    plan = loaf_by_thickness(LOAF, 25)
    assert len(plan.bars) == 10
    assert plan.thickness_mm == 25
    assert (plan.kerfs_mm, plan.end_mm, plan.leftover_mm) == (0, 0, 0)
    assert plan.cuts == tuple(Span(place, place) for place in range(25, 250, 25))
    assert plan.bar_grams == pytest.approx(130)


def test_ends_are_trimmed_and_what_is_too_short_for_a_bar_is_left_over() -> None:
    """250 mm less twice 5 mm are nine bars of 26 mm and 6 mm."""
    plan = loaf_by_thickness(LOAF, 26, trim_mm=5, loss=10)
    assert len(plan.bars) == 9
    assert plan.bars[0] == Span(5, 31)
    assert plan.leftover_mm == 6
    assert plan.bar_grams == pytest.approx(135.2)
    assert plan.cured_grams == pytest.approx(121.68)
    assert plan.ends_grams == pytest.approx(52)
    assert plan.leftover_grams == pytest.approx(31.2)
    assert plan.kerfs_grams == 0


def test_a_saw_takes_its_kerf_at_every_cut_and_at_both_ends() -> None:
    """Eight bars: seven cuts between them and two at the ends, 2 mm each."""
    plan = loaf_by_number(LOAF, 8, trim_mm=6, kerf_mm=2)
    assert len(plan.cuts) == 9
    assert plan.kerfs_mm == pytest.approx(18)
    assert plan.thickness_mm == pytest.approx((250 - 12 - 18) / 8)
    assert plan.cuts[0] == Span(6, 8)
    assert plan.cuts[-1].end == pytest.approx(244)
    assert plan.leftover_mm == 0
    assert plan.kerfs_grams == pytest.approx(1300 * 18 / 250)


def test_the_last_bar_is_cut_from_what_is_left_over() -> None:
    plan = loaf_by_thickness(LOAF, 60, kerf_mm=2)
    assert len(plan.bars) == 4
    assert plan.cuts[-1] == Span(246, 248)
    assert plan.leftover_mm == 2


def test_a_saw_wider_than_what_is_left_over_takes_all_of_it() -> None:
    plan = loaf_by_thickness(LOAF, 61.75, kerf_mm=0.75)
    assert len(plan.bars) == 4
    assert plan.cuts[-1] == Span(249.25, 250)
    assert plan.kerfs_mm == 3
    assert plan.leftover_mm == 0


def test_bars_that_come_out_even_need_no_last_cut() -> None:
    assert len(loaf_by_thickness(LOAF, 61, kerf_mm=2).cuts) == 3


def test_so_many_bars_as_a_thickness_gives_use_up_the_loaf() -> None:
    rough = loaf_by_thickness(LOAF, 27)
    assert rough.leftover_mm > 0
    even = loaf_by_number(LOAF, len(rough.bars))
    assert even.leftover_mm == 0
    assert even.thickness_mm == pytest.approx(250 / 9)


@pytest.mark.parametrize(
    ("length", "thickness", "kerf", "bars"), [(180.6, 30.1, 0, 6), (100.1, 14.3, 0, 7), (250.1, 30.3, 1.1, 8)]
)
def test_the_dust_of_binary_fractions_costs_no_bar(
    length: float, thickness: float, kerf: float, bars: int
) -> None:
    assert (length + kerf) / (thickness + kerf) < bars
    plan = loaf_by_thickness(Block(length, 80, 65, 100), thickness, kerf_mm=kerf)
    assert len(plan.bars) == bars
    assert plan.leftover_mm == 0
    assert accounted_for(plan) == pytest.approx(length, rel=0, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(lengths, st.floats(1, 40), trims, kerfs)
def test_every_millimetre_and_gram_is_accounted_for_by_thickness(
    length: float, thickness: float, trim: float, kerf: float
) -> None:
    plan = loaf_by_thickness(Block(length, 80, 65, 1000), thickness, trim_mm=trim, kerf_mm=kerf)
    assert accounted_for(plan) == pytest.approx(length, rel=0, abs=1e-9)
    assert 0 <= plan.leftover_mm < thickness + kerf
    assert plan.thickness_mm == pytest.approx(thickness, abs=1e-5)
    assert all(left.end <= right.start + 1e-9 for left, right in pairwise(plan.bars))
    grams = len(plan.bars) * plan.bar_grams + plan.ends_grams + plan.kerfs_grams + plan.leftover_grams
    assert grams == pytest.approx(1000)


@settings(max_examples=60, deadline=None)
@given(lengths, st.integers(1, 12), trims, kerfs)
def test_every_millimetre_is_accounted_for_by_number_and_the_mirrored_loaf_is_cut_alike(
    length: float, number: int, trim: float, kerf: float
) -> None:
    plan = loaf_by_number(Block(length, 80, 65, 1000), number, trim_mm=trim, kerf_mm=kerf)
    assert len(plan.bars) == number
    assert plan.leftover_mm == 0
    assert accounted_for(plan) == pytest.approx(length, rel=0, abs=1e-9)
    for bar, mirrored in zip(plan.bars, reversed(plan.bars), strict=True):
        assert bar.start == pytest.approx(length - mirrored.end, abs=1e-9)


# What cannot be


@pytest.mark.parametrize("thickness", [0, 0.5, 2001, *IMPOSSIBLE])
def test_a_thickness_that_cannot_be_is_refused(thickness: float) -> None:
    with pytest.raises(CutError, match=r"thickness must lie between 1 mm and 2 m\.") as caught:
        loaf_by_thickness(LOAF, thickness)
    assert caught.value.field == "thickness"


def test_a_bar_thicker_than_the_loaf_is_long_is_refused_in_words() -> None:
    with pytest.raises(CutError) as caught:
        loaf_by_thickness(LOAF, 245, trim_mm=5)
    assert caught.value.field == "thickness"
    words = caught.value.args[0]
    assert isinstance(words, Phrase)
    assert words == "Between its ends the loaf is only 240.0 mm long, too short for one bar of 245.0 mm."


@pytest.mark.parametrize("number", [0, -1, MOST_BARS + 1, 10**400])
def test_a_number_of_bars_that_cannot_be_is_refused(number: int) -> None:
    with pytest.raises(CutError, match="The number of bars must lie between 1 and 2000") as caught:
        loaf_by_number(LOAF, number)
    assert caught.value.field == "bars"


def test_bars_as_thin_as_paper_are_refused() -> None:
    assert loaf_by_number(LOAF, 250).thickness_mm == 1
    with pytest.raises(CutError, match="Cut into 251, each piece would be thinner than 1 mm") as caught:
        loaf_by_number(LOAF, 251)
    assert caught.value.field == "bars"
    with pytest.raises(CutError, match="thinner"):
        loaf_by_number(LOAF, 200, kerf_mm=2)


@pytest.mark.parametrize(
    ("field", "figures"),
    [
        *(("trim", {"trim_mm": figure}) for figure in IMPOSSIBLE),
        *(("kerf", {"kerf_mm": figure}) for figure in [*IMPOSSIBLE, 20.1]),
        *(("loss", {"loss": figure}) for figure in [*IMPOSSIBLE, 100.0]),
    ],
)
def test_tools_that_cannot_be_are_refused(field: str, figures: dict[str, float]) -> None:
    with pytest.raises(CutError) as by_number:
        loaf_by_number(LOAF, 8, **figures)
    with pytest.raises(CutError) as by_thickness:
        loaf_by_thickness(LOAF, 25, **figures)
    with pytest.raises(CutError) as slab:
        slab_plan(LOAF, columns=2, rows=2, **figures)
    assert {caught.value.field for caught in (by_number, by_thickness, slab)} == {field}


@pytest.mark.parametrize(("trim", "kerf"), [(125, 0), (124, 1), (300, 0)])
def test_ends_that_leave_nothing_are_refused(trim: float, kerf: float) -> None:
    with pytest.raises(CutError, match="Trimming both ends leaves nothing of") as caught:
        loaf_by_number(LOAF, 1, trim_mm=trim, kerf_mm=kerf)
    assert caught.value.field == "trim"


@pytest.mark.parametrize("side", [0, 2001, *IMPOSSIBLE])
@pytest.mark.parametrize("field", ["length", "width", "height"])
def test_a_block_that_cannot_be_is_refused(field: str, side: float) -> None:
    sides = {"length": 100.0, "width": 100.0, "height": 100.0, field: side}
    with pytest.raises(CutError, match=f"The {field} must lie between 1 mm and 2 m.") as caught:
        Block(sides["length"], sides["width"], sides["height"], 100)
    assert caught.value.field == field
    assert isinstance(caught.value.args[0], Phrase)


@pytest.mark.parametrize("grams", [0, *IMPOSSIBLE])
def test_a_weight_that_cannot_be_is_refused(grams: float) -> None:
    with pytest.raises(CutError) as caught:
        Block(250, 80, 65, grams)
    assert caught.value.field == "grams"


def test_a_block_weighs_its_volume_times_its_density() -> None:
    assert block_of_density(250, 80, 65, 1.04).grams == pytest.approx(1352)


@pytest.mark.parametrize("density", [0, 0.05, 1040, *IMPOSSIBLE])
def test_a_density_that_cannot_be_is_refused(density: float) -> None:
    with pytest.raises(CutError, match=r"between 0\.1 and 3\.0 g/mL") as caught:
        block_of_density(250, 80, 65, density)
    assert caught.value.field == "density"


# A slab


def test_a_slab_is_cut_into_rows_and_columns() -> None:
    plan = slab_plan(Block(400, 300, 30, 3600), columns=5, rows=4, loss=15)
    assert plan.number == 20
    assert (plan.bar_length_mm, plan.bar_width_mm) == (80, 75)
    assert plan.bar_grams == pytest.approx(180)
    assert plan.cured_grams == pytest.approx(153)
    assert plan.trimmings_grams == pytest.approx(0)
    assert [cut.centre for cut in plan.column_cuts] == [80, 160, 240, 320]
    assert [cut.centre for cut in plan.row_cuts] == [75, 150, 225]


def test_a_slab_is_trimmed_at_all_four_edges() -> None:
    plan = slab_plan(Block(400, 300, 30, 3600), columns=2, rows=1, trim_mm=10, kerf_mm=2)
    assert (plan.bar_length_mm, plan.bar_width_mm) == (187, 276)
    assert (len(plan.column_cuts), len(plan.row_cuts)) == (3, 2)
    assert plan.trimmings_grams == pytest.approx(3600 - 2 * 187 * 276 * 0.03)


@settings(max_examples=60, deadline=None)
@given(lengths, lengths, st.integers(1, 12), st.integers(1, 12), st.booleans())
def test_a_slab_keeps_its_weight(length: float, width: float, columns: int, rows: int, trimmed: bool) -> None:
    trim = 1.0 if trimmed else 0.0
    plan = slab_plan(Block(length, width, 30, 5000), columns=columns, rows=rows, trim_mm=trim)
    assert plan.number * plan.bar_grams + plan.trimmings_grams == pytest.approx(5000)
    turned = slab_plan(Block(width, length, 30, 5000), columns=rows, rows=columns, trim_mm=trim)
    assert turned.bar_grams == pytest.approx(plan.bar_grams)


@pytest.mark.parametrize("field", ["columns", "rows"])
@pytest.mark.parametrize("number", [0, -3, 500, 10**400])
def test_a_slab_that_cannot_be_cut_so_is_refused(field: str, number: int) -> None:
    with pytest.raises(CutError) as caught:
        slab_plan(LOAF, **{"columns": 2, "rows": 2, field: number})
    assert caught.value.field == field


# Cavities


def test_cavities_are_filled_to_the_brim() -> None:
    mould = Cavities(6, 110, 1.05, loss=12)
    assert mould.bar_grams == pytest.approx(115.5)
    assert mould.cured_grams == pytest.approx(101.64)
    assert mould.grams == pytest.approx(693)


@pytest.mark.parametrize(
    ("field", "figures"),
    [
        ("cavities", (0, 110, 1.05, 0)),
        ("cavities", (MOST_BARS + 1, 110, 1.05, 0)),
        *(("volume", (6, figure, 1.05, 0)) for figure in [0, *IMPOSSIBLE]),
        *(("density", (6, 110, figure, 0)) for figure in [0, *IMPOSSIBLE]),
        *(("loss", (6, 110, 1.05, figure)) for figure in [100, *IMPOSSIBLE]),
    ],
)
def test_cavities_that_cannot_be_are_refused(field: str, figures: tuple[int, float, float, float]) -> None:
    with pytest.raises(CutError) as caught:
        Cavities(*figures)
    assert caught.value.field == field
