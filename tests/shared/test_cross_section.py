"""The drawing of a bar cut across is true to its layers, and the same every time."""

import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.cross_section import DRAWN_WIDTH, WIDEST, Drawing, Layer, describe, draw

FOG = [Layer("#6d7987", 28, "Deep"), Layer("#a9b9c1", 34, "Middle"), Layer("#f1efe4", 38, "Crest")]


def corners(path: str) -> list[tuple[float, float]]:
    figures = [float(figure) for figure in re.findall(r"-?\d+(?:\.\d+)?", path)]
    return list(zip(figures[::2], figures[1::2], strict=True))


def area(path: str) -> float:
    """Area of the polygon by the shoelace formula."""
    points = corners(path)
    turned = [*points[1:], points[0]]
    return abs(sum(x * v - u * y for (x, y), (u, v) in zip(points, turned, strict=True))) / 2


def areas_from_the_bottom(drawing: Drawing) -> list[float]:
    reaching_the_floor = [area(band.path) for band in reversed(drawing.bands)]
    return [high - low for low, high in zip([0.0, *reaching_the_floor], reaching_the_floor, strict=False)]


shares = st.lists(st.floats(min_value=0.01, max_value=100), min_size=1, max_size=8)


@given(shares=shares, width=st.floats(30, 300), height=st.floats(30, 300), seed=st.text(max_size=20))
def test_each_layer_fills_its_share_of_the_bar(
    shares: list[float], width: float, height: float, seed: str
) -> None:
    drawing = draw([Layer("#123456", share) for share in shares], width=width, height=height, seed=seed)
    drawn = areas_from_the_bottom(drawing)
    for share, part in zip(shares, drawn, strict=True):
        # Corners are rounded to a tenth, which moves a border by at most a twentieth along the whole width.
        assert part == pytest.approx(sum(drawn) * share / sum(shares), abs=0.2 * DRAWN_WIDTH)


@given(shares=shares, seed=st.text(max_size=20))
def test_borders_never_cross(shares: list[float], seed: str) -> None:
    drawing = draw([Layer("#123456", share) for share in shares], seed=seed)
    edges = [corners(band.path)[:-2] for band in drawing.bands]
    for above, below in pairwise(edges):
        assert all(y <= v for (_, y), (_, v) in zip(above, below, strict=True))


@given(seed=st.text(max_size=20))
def test_everything_is_drawn_inside_the_picture(seed: str) -> None:
    drawing = draw(FOG, seed=seed)
    for x, y in corners("".join(band.path for band in drawing.bands)):
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


def test_colours_are_written_in_one_way() -> None:
    assert draw([Layer("#A4472A", 1)]).bands[0].colour == "#a4472a"


def test_words_name_the_layers_from_the_bottom_up() -> None:
    assert describe(FOG) == "Cross-section from the bottom up: Deep 28 %, Middle 34 %, Crest 38 %"
    assert describe([Layer("#ffffff", 1), Layer("#000000", 3)]).endswith("unnamed 25 %, unnamed 75 %")


def test_one_layer_is_called_by_its_name() -> None:
    assert describe([Layer("#ffffff", 1, "Olive")]) == "Cross-section: Olive"
    assert describe([Layer("#ffffff", 1)]) == "Cross-section: one layer"


@pytest.mark.parametrize(
    "colour", ["", "red", "#fff", "#12345g", "#1234567", '"><script>', "#123456\n", "x" * 10_000]
)
def test_what_is_not_a_colour_is_refused(colour: str) -> None:
    with pytest.raises(ValueError, match="is not a colour"):
        draw([Layer(colour, 1)])


@pytest.mark.parametrize("share", [0, -1, float("nan"), float("inf")])
def test_a_share_must_be_a_positive_number(share: float) -> None:
    with pytest.raises(ValueError, match="positive"):
        draw([Layer("#ffffff", share)])


@pytest.mark.parametrize("sides", [{"width": 0}, {"height": -5}, {"width": float("nan")}])
def test_a_mould_must_have_sides(sides: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="positive"):
        draw(FOG, **sides)


def test_no_layers_are_refused() -> None:
    with pytest.raises(ValueError, match="at least one layer"):
        draw([])
