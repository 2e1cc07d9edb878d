"""The drawing of a bar cut across is true to its layers, and the same every time."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.cross_section import (
    DRAWN_WIDTH,
    WIDEST,
    Drawing,
    Embed,
    Layer,
    Technique,
    Topping,
    draw,
)
from tests.shared.faces import area, corners

FOG = [Layer("#6d7987", 28, "Deep"), Layer("#a9b9c1", 34, "Middle"), Layer("#f1efe4", 38, "Crest")]
CREAM = [Layer("#7a4a2b", 2, "Cocoa"), Layer("#f3e7cf", 1, "Cream", Technique.TOP)]


def areas_from_the_bottom(drawing: Drawing) -> list[float]:
    reaching_the_floor = [area(band.path) for band in reversed(drawing.bands)]
    return [high - low for low, high in zip([0.0, *reaching_the_floor], reaching_the_floor, strict=False)]


def upper_border(path: str) -> list[tuple[float, float]]:
    return corners(path)[:-2]


def height_at(border: list[tuple[float, float]], x: float) -> float:
    for (left, y), (right, v) in pairwise(border):
        if left <= x <= right:
            return y + (v - y) * (x - left) / (right - left)
    raise AssertionError("The border does not run across the bar.")


def local_tops(border: list[tuple[float, float]]) -> list[float]:
    return [
        y
        for (_, before), (_, y), (_, after) in zip(border, border[1:], border[2:], strict=False)
        if before > y <= after
    ]


shares = st.lists(st.floats(min_value=0.01, max_value=100), min_size=1, max_size=8)
flat = st.sampled_from([Technique.LAYER, Technique.TOP])


@given(
    shares=shares,
    width=st.floats(30, 300),
    height=st.floats(30, 300),
    seed=st.text(max_size=20),
    data=st.data(),
)
def test_each_layer_fills_its_share_of_the_bar(
    shares: list[float], width: float, height: float, seed: str, data: st.DataObject
) -> None:
    layers = [Layer("#123456", share, technique=data.draw(flat)) for share in shares]
    drawn = areas_from_the_bottom(draw(layers, width=width, height=height, seed=seed))
    for share, part in zip(shares, drawn, strict=True):
        # Corners are rounded to a tenth, which moves a border by at most a twentieth along the whole width.
        assert part == pytest.approx(sum(drawn) * share / sum(shares), abs=0.2 * DRAWN_WIDTH)


@given(shares=shares, seed=st.text(max_size=20), data=st.data())
@settings(max_examples=25, deadline=None)
def test_borders_never_cross(shares: list[float], seed: str, data: st.DataObject) -> None:
    drawing = draw([Layer("#123456", share, technique=data.draw(flat)) for share in shares], seed=seed)
    borders = [upper_border(band.path) for band in drawing.bands]
    for above, below in pairwise(borders):
        for x in range(0, int(DRAWN_WIDTH) + 1, 3):
            assert height_at(above, x) <= height_at(below, x) + 0.15  # both are rounded and simplified


@given(seed=st.text(max_size=20))
@settings(max_examples=10, deadline=None)
def test_everything_is_drawn_inside_the_picture(seed: str) -> None:
    layers = [*FOG, *CREAM, Layer("#c9697a", 10, "Rose", Technique.DROP)]
    drawing = draw(layers, [Embed("#c9a227", 3)], [Topping("#ffffff")], seed=seed)
    for part in (*drawing.embeds, *drawing.bands, *drawing.figures, *drawing.toppings):
        for x, y in corners(part.path):
            assert 0 <= x <= drawing.width
            assert 0 <= y <= drawing.height


def test_the_same_seed_gives_the_same_picture_and_another_gives_another() -> None:
    assert draw(FOG, seed="26-0147") == draw(FOG, seed="26-0147")
    assert draw(FOG, seed="26-0147") != draw(FOG, seed="26-0148")


def test_the_top_layer_is_painted_first_and_outlined() -> None:
    drawing = draw(FOG)
    assert [band.name for band in drawing.bands] == ["Crest", "Middle", "Deep"]
    assert drawing.outline == drawing.bands[0].path


def test_the_picture_has_the_proportions_of_the_mould() -> None:
    square = draw(FOG, width=80, height=80)
    assert area(square.outline) == pytest.approx(DRAWN_WIDTH**2, rel=0.01)


def test_a_mould_too_flat_to_read_is_drawn_as_the_flattest_that_can_be() -> None:
    assert draw(FOG, width=900, height=10).height == draw(FOG, width=WIDEST, height=1).height


@given(seed=st.text(max_size=20))
@settings(deadline=None)
def test_a_textured_top_has_three_to_five_peaks_that_stand_out(seed: str) -> None:
    border = upper_border(draw(CREAM, seed=seed).outline)
    peaks = local_tops(border)
    assert 3 <= len(peaks) <= 5
    assert max(y for _, y in border) - min(peaks) > 5


def test_colours_are_written_in_one_way() -> None:
    assert draw([Layer("#A4472A", 1)]).bands[0].colour == "#a4472a"


def test_a_coarse_picture_is_shorter_and_shows_the_same() -> None:
    swirled = [Layer("#ffffff", 3), Layer("#000000", 1, technique=Technique.HANGER)]
    fine, coarse = draw(swirled, tolerance=0.1), draw(swirled, tolerance=0.4)
    assert len(coarse.figures[0].path) < 0.7 * len(fine.figures[0].path)
    assert area(coarse.figures[0].path) == pytest.approx(area(fine.figures[0].path), rel=0.03)


class TestOnTop:
    def test_there_are_as_many_embeds_as_asked_for_evenly_set(self) -> None:
        (gold,) = draw(FOG, [Embed("#C9A227", 3, "Gold")]).embeds
        middles = sorted(middle(piece) for piece in pieces(gold.path))
        assert (gold.colour, gold.name) == ("#c9a227", "Gold")
        assert middles == pytest.approx([20, 60, 100], abs=0.5)

    def test_kinds_of_embeds_lie_among_each_other(self) -> None:
        gold, rose = draw(FOG, [Embed("#c9a227", 2), Embed("#c9697a", 2)]).embeds
        assert sorted(map(middle, pieces(gold.path))) == pytest.approx([15, 75], abs=0.5)
        assert sorted(map(middle, pieces(rose.path))) == pytest.approx([45, 105], abs=0.5)

    @given(counts=st.lists(st.integers(1, 40), min_size=1, max_size=4), seed=st.text(max_size=20))
    @settings(max_examples=25, deadline=None)
    def test_embeds_never_touch_each_other(self, counts: list[int], seed: str) -> None:
        drawn = draw(FOG, [Embed("#c9a227", count) for count in counts], seed=seed).embeds
        found = sorted(sides(piece) for embed in drawn for piece in pieces(embed.path))
        assert all(right <= left + 0.11 for (_, right), (left, _) in pairwise(found))

    def test_more_embeds_than_can_be_told_apart_are_not_drawn(self) -> None:
        (many,) = draw(FOG, [Embed("#c9a227", 10**12)]).embeds
        assert len(pieces(many.path)) == 24

    def test_an_embed_is_half_sunk_into_the_top(self) -> None:
        drawing = draw([Layer("#ffffff", 1)], [Embed("#c9a227", 1)])
        heights = [y for _, y in corners(drawing.embeds[0].path)]
        top = height_at(upper_border(drawing.outline), DRAWN_WIDTH / 2)
        assert min(heights) < top < max(heights)

    def test_the_picture_grows_upward_and_the_bar_stays_as_it_is(self) -> None:
        plain, topped = draw(FOG), draw(FOG, [Embed("#c9a227", 3)], [Topping("#ffffff")])
        assert topped.height > plain.height
        assert area(topped.outline) == pytest.approx(area(plain.outline), rel=0.01)

    def test_toppings_are_specks_along_the_whole_top(self) -> None:
        drawing = draw(FOG, toppings=[Topping("#5A3D7A", "Lavender")])
        (lavender,) = drawing.toppings
        middles = [middle(piece) for piece in pieces(lavender.path)]
        top = [y for _, y in upper_border(drawing.outline)]
        assert (lavender.colour, lavender.name) == ("#5a3d7a", "Lavender")
        assert len(middles) > 9
        assert min(middles) < 15
        assert max(middles) > 105
        assert all(min(top) - 5 < y < max(top) + 3 for _, y in corners(lavender.path))

    def test_toppings_of_two_kinds_lie_in_different_places(self) -> None:
        salt, petals = draw(FOG, toppings=[Topping("#ffffff", "Salt"), Topping("#c9697a", "Petals")]).toppings
        assert salt.path != petals.path


def pieces(path: str) -> list[str]:
    return [f"{one}Z" for one in path.split("Z")[:-1]]


def sides(piece: str) -> tuple[float, float]:
    across = [x for x, _ in corners(piece)]
    return min(across), max(across)


def middle(piece: str) -> float:
    return sum(sides(piece)) / 2


class TestRefusals:
    @pytest.mark.parametrize(
        "colour", ["", "red", "#fff", "#12345g", "#1234567", '"><script>', "#123456\n", "x" * 10_000]
    )
    def test_what_is_not_a_colour_is_refused(self, colour: str) -> None:
        with pytest.raises(ValueError, match="is not a colour"):
            draw([Layer(colour, 1)])
        with pytest.raises(ValueError, match="is not a colour"):
            draw(FOG, [Embed(colour, 1)])
        with pytest.raises(ValueError, match="is not a colour"):
            draw(FOG, toppings=[Topping(colour)])

    @pytest.mark.parametrize("share", [0, -1, float("nan"), float("inf")])
    def test_a_share_must_be_a_positive_number(self, share: float) -> None:
        with pytest.raises(ValueError, match="positive"):
            draw([Layer("#ffffff", share)])

    def test_shares_must_have_a_sum(self) -> None:
        with pytest.raises(ValueError, match="positive"):
            draw([Layer("#ffffff", 1e308)] * 2)

    @pytest.mark.parametrize("sides", [{"width": 0}, {"height": -5}, {"width": float("nan")}])
    def test_a_mould_must_have_sides(self, sides: dict[str, float]) -> None:
        with pytest.raises(ValueError, match="positive"):
            draw(FOG, **sides)

    @pytest.mark.parametrize("count", [0, -3])
    def test_less_than_one_embed_is_refused(self, count: int) -> None:
        with pytest.raises(ValueError, match="at least one"):
            draw(FOG, [Embed("#c9a227", count)])

    def test_no_layers_are_refused(self) -> None:
        with pytest.raises(ValueError, match="at least one layer"):
            draw([])
