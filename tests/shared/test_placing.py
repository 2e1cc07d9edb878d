"""Every cut misses every embed, and the strip that says where they go is whole on paper."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.cuts import MOST_BARS, Block, Span, loaf_by_number, loaf_by_thickness
from shared.placing import CHECK_LINE_MM, MOST_EMBEDS, PlacingError, bars_between, place, tile
from shared.words import Phrase

TEN_BARS = loaf_by_number(Block(250, 80, 65, 1300), 10).bars
IMPOSSIBLE = [-1.0, math.nan, math.inf, -math.inf, 1e9]


def mirrored(bars: tuple[Span, ...], length: float) -> tuple[Span, ...]:
    return tuple(Span(length - bar.end, length - bar.start) for bar in reversed(bars))


@st.composite
def loaves(draw: st.DrawFn) -> tuple[float, tuple[Span, ...]]:
    """The length of a loaf, and bars of any thickness that it was cut into."""
    kerf = draw(st.sampled_from([0.0, 0.5, 2.0]))
    thicknesses = draw(st.lists(st.floats(5, 60), min_size=1, max_size=12))
    cuts = [kerf / 2]
    for thickness in thicknesses:
        cuts.append(cuts[-1] + thickness + kerf)
    return cuts[-1] + kerf / 2, bars_between(cuts, kerf)


# Placing


def test_bars_of_equal_thickness_carry_all_three_embeds_whole() -> None:
    placing = place(TEN_BARS, embed_mm=6, number=3, distance_mm=1)
    assert len(placing.centres) == 30
    assert placing.embeds[0] == tuple(
        pytest.approx(Span(centre - 3, centre + 3)) for centre in (25 / 6, 12.5, 125 / 6)
    )
    assert placing.whole
    assert placing.nearest_mm == pytest.approx((25 / 3 - 6) / 2)
    assert placing.warnings == ()


def test_a_single_embed_sits_in_the_middle_of_its_bar() -> None:
    assert place(TEN_BARS, embed_mm=10, number=1, distance_mm=5).centres[:3] == (12.5, 37.5, 62.5)


def test_embeds_keep_off_the_kerf_of_a_saw() -> None:
    bars = bars_between([1, 27, 53], kerf_mm=2)
    assert bars == (Span(2, 26), Span(28, 52))
    assert place(bars, embed_mm=20, number=1, distance_mm=2).centres == (14, 40)


def test_a_face_that_is_not_cut_lies_half_a_kerf_inside_its_cut() -> None:
    plan = loaf_by_number(Block(250, 80, 65, 1300), 2, kerf_mm=2)
    assert bars_between([-1, 125, 251], kerf_mm=2) == plan.bars == (Span(0, 124), Span(126, 250))


def test_the_bars_of_a_plan_are_those_between_its_cuts() -> None:
    plan = loaf_by_thickness(Block(250, 80, 65, 1300), 26, trim_mm=5, kerf_mm=1)
    between = bars_between([cut.centre for cut in plan.cuts], kerf_mm=1)
    for bar, found in zip(plan.bars, between, strict=True):
        assert found == pytest.approx(bar)


def test_bars_with_soap_left_over_between_them_are_fine() -> None:
    assert place([Span(0, 20), Span(30, 50)], embed_mm=5, number=1, distance_mm=0).centres == (10, 40)


@settings(max_examples=60, deadline=None)
@given(loaves(), st.floats(0.5, 30), st.integers(1, 6), st.floats(0, 10))
def test_no_embed_crosses_a_cut_or_comes_too_near_without_warning(
    loaf: tuple[float, tuple[Span, ...]], embed: float, number: int, distance: float
) -> None:
    _, bars = loaf
    placing = place(bars, embed_mm=embed, number=number, distance_mm=distance)
    rooms = [
        room
        for bar, embeds in zip(bars, placing.embeds, strict=True)
        for room in (embeds[0].start - bar.start, bar.end - embeds[-1].end)
    ]
    assert min(rooms) == pytest.approx(placing.nearest_mm, abs=1e-9)
    assert placing.whole == (min(rooms) >= -1e-9)
    assert bool(placing.warnings) == (min(rooms) < distance - 1e-9)
    for embeds in placing.embeds:
        assert len(embeds) == number
        assert all(one.width == pytest.approx(embed) for one in embeds)
        if placing.whole:
            assert all(left.end <= right.start + 1e-9 for left, right in pairwise(embeds))


@settings(max_examples=60, deadline=None)
@given(loaves(), st.floats(0.5, 30), st.integers(1, 6))
def test_the_mirrored_loaf_has_its_embeds_mirrored(
    loaf: tuple[float, tuple[Span, ...]], embed: float, number: int
) -> None:
    length, bars = loaf
    centres = place(bars, embed_mm=embed, number=number, distance_mm=1).centres
    turned = place(mirrored(bars, length), embed_mm=embed, number=number, distance_mm=1).centres
    assert turned == pytest.approx([length - centre for centre in reversed(centres)], abs=1e-9)


def test_an_embed_wider_than_the_bar_is_warned_of() -> None:
    placing = place([Span(0, 25), Span(25, 43)], embed_mm=12, number=1, distance_mm=5)
    assert placing.whole
    assert placing.warnings == (
        "An embed of 12.0 mm with 5.0 mm to each cut needs 22.0 mm, but the thinnest bar has only 18.0 mm.",
    )
    assert isinstance(placing.warnings[0], Phrase)


def test_an_embed_wider_than_its_share_of_the_bar_is_warned_of() -> None:
    placing = place(TEN_BARS, embed_mm=8, number=3, distance_mm=1)
    assert placing.whole
    (words,) = placing.warnings
    assert words == (
        "An embed of 8.0 mm with 1.0 mm on each side needs 10.0 mm, "
        "but with 3 in a bar of 25.0 mm there are only 8.3 mm for each."
    )


@pytest.mark.parametrize(("embed", "number"), [(30, 1), (9, 3)])
def test_embeds_that_cuts_go_through_are_warned_of(embed: float, number: int) -> None:
    placing = place(TEN_BARS, embed_mm=embed, number=number, distance_mm=0)
    assert not placing.whole
    assert placing.nearest_mm < 0
    assert placing.warnings[-1] == "Placed like this, cuts go through embeds."
    assert len(placing.warnings) == 2


def test_an_embed_that_just_fits_is_not_warned_of() -> None:
    placing = place(bars_between([0.1, 0.1 + 0.2 * 100]), embed_mm=20, number=1, distance_mm=0)
    assert placing.whole
    assert placing.warnings == ()


@pytest.mark.parametrize("figure", IMPOSSIBLE)
@pytest.mark.parametrize("field", ["embed", "distance"])
def test_widths_that_cannot_be_are_refused(field: str, figure: float) -> None:
    figures = {"embed_mm": 5.0, "distance_mm": 2.0, f"{field}_mm": figure}
    with pytest.raises(PlacingError) as caught:
        place(TEN_BARS, embed_mm=figures["embed_mm"], number=3, distance_mm=figures["distance_mm"])
    assert caught.value.field == field
    assert isinstance(caught.value.args[0], Phrase)


def test_an_embed_of_no_width_is_refused() -> None:
    with pytest.raises(PlacingError, match="wider than nothing"):
        place(TEN_BARS, embed_mm=0, number=3, distance_mm=0)


@pytest.mark.parametrize("number", [0, -1, MOST_EMBEDS + 1, 10**400])
def test_a_number_of_embeds_that_cannot_be_is_refused(number: int) -> None:
    with pytest.raises(PlacingError, match="between 1 and 100") as caught:
        place(TEN_BARS, embed_mm=5, number=number, distance_mm=2)
    assert caught.value.field == "number"


@pytest.mark.parametrize(
    "bars",
    [
        [],
        [Span(0, 0.5)] * (MOST_BARS + 1),
        [Span(5, 5)],
        [Span(9, 5)],
        [Span(-5, 5)],
        [Span(0, 2001)],
        [Span(math.nan, 5)],
        [Span(0, math.inf)],
        [Span(30, 50), Span(0, 20)],
        [Span(0, 20), Span(19, 40)],
    ],
)
def test_bars_that_cannot_be_are_refused(bars: list[Span]) -> None:
    with pytest.raises(PlacingError) as caught:
        place(bars, embed_mm=1, number=1, distance_mm=0)
    assert caught.value.field == "cuts"


@pytest.mark.parametrize(
    "cuts", [[], [25], [25, 25], [50, 25], [0, math.nan], [-2, 25], [0, 1e9], [0, 2, 25]]
)
def test_cuts_that_cannot_be_are_refused(cuts: list[float]) -> None:
    with pytest.raises(PlacingError) as caught:
        bars_between(cuts, kerf_mm=2)
    assert caught.value.field == "cuts"


@pytest.mark.parametrize("kerf", [20.1, *IMPOSSIBLE])
def test_a_kerf_that_cannot_be_is_refused(kerf: float) -> None:
    with pytest.raises(PlacingError, match="What a cut takes must lie between 0 and 20 mm") as caught:
        bars_between([0, 25], kerf_mm=kerf)
    assert caught.value.field == "kerf"


def test_a_loaf_of_two_metres_can_be_placed_in() -> None:
    bars = loaf_by_number(Block(2000, 80, 65, 1300), 70, trim_mm=0.3, kerf_mm=0.7).bars
    assert place(bars, embed_mm=5, number=1, distance_mm=5).whole


# The strip on paper


def test_a_short_strip_goes_on_one_page() -> None:
    tiling = tile(180, 190)
    assert [page.part for page in tiling.pages] == [Span(0, 180)]
    assert tiling.pages[0].marks == ()
    assert tile(5, 190).pages[0].part == Span(0, 5)
    assert tile(190, 190, 0).pages[0].part == Span(0, 190)


def test_a_long_strip_is_spread_evenly_and_joined_at_marks() -> None:
    tiling = tile(250, 190)
    assert [page.part for page in tiling.pages] == [Span(0, 130), Span(120, 250)]
    assert [page.marks for page in tiling.pages] == [(125,), (125,)]
    assert [page.on_paper(125) for page in tiling.pages] == [125, 5]


def test_a_page_in_the_middle_has_marks_on_both_sides() -> None:
    assert [page.marks for page in tile(610, 210).pages] == [(205,), (205, 405), (405,)]


def test_no_page_is_spent_on_the_dust_of_binary_fractions() -> None:
    assert (280.3 - 10) / (100.1 - 10) > 3
    assert len(tile(280.3, 100.1, 10).pages) == 3


def test_the_check_line_of_100_mm_lies_in_the_middle_of_the_paper() -> None:
    assert tile(250, 190).check_line == Span(45, 145)
    assert tile(250, 100).check_line == Span(0, CHECK_LINE_MM)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.1, 2000), st.floats(100, 420), st.floats(0, 50))
def test_every_millimetre_is_on_a_page_and_every_page_on_its_paper(
    length: float, paper: float, overlap: float
) -> None:
    tiling = tile(length, paper, overlap)
    parts = [page.part for page in tiling.pages]
    assert (parts[0].start, parts[-1].end) == (0, length)
    assert all(0 < part.width <= paper + 1e-5 for part in parts)
    for left, right in pairwise(tiling.pages):
        assert left.part.end - right.part.start == pytest.approx(overlap, abs=1e-9)
        assert left.marks[-1] == right.marks[0] == pytest.approx(right.part.start + overlap / 2)
    fewer = len(parts) - 1
    assert fewer == 0 or fewer * paper - (fewer - 1) * overlap < length


@pytest.mark.parametrize(
    ("field", "figures"),
    [
        *(("length", (figure, 190.0, 10.0)) for figure in [0.0, *IMPOSSIBLE]),
        *(("paper", (250.0, figure, 10.0)) for figure in [99.9, 0.0, *IMPOSSIBLE]),
        *(("overlap", (250.0, 190.0, figure)) for figure in [95.1, *IMPOSSIBLE]),
    ],
)
def test_a_strip_that_cannot_be_printed_is_refused(field: str, figures: tuple[float, float, float]) -> None:
    with pytest.raises(PlacingError) as caught:
        tile(*figures)
    assert caught.value.field == field
