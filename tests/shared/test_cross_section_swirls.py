"""A colour swirled into another keeps its true share of the bar, whatever becomes of its shape."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.cross_section import COARSE, Layer, Technique, draw
from tests.shared.faces import area, corners, outlines, seen

SWIRLS = [Technique.POT, Technique.DROP, Technique.HANGER]
WHITE, DARK = "#f4ede0", "#3b2a2a"
swirls = st.sampled_from(SWIRLS)
seeds = st.integers(0, 10**6).map(str)


def swirled(technique: Technique, share: float, *, seed: str = "") -> str:
    """Path of a colour that takes `share` of the upper half of a bar."""
    layers = [Layer(DARK, 1), Layer(WHITE, 1 - share), Layer("#c9697a", share, "Rose", technique)]
    return draw(layers, seed=seed).figures[0].path


def centre_of_gravity(outline: list[tuple[float, float]]) -> float:
    """Its height, y, by the formula for polygons."""
    sides = list(pairwise([*outline, outline[0]]))
    twice = [x * v - u * y for (x, y), (u, v) in sides]
    return sum(part * (y + v) for part, ((_, y), (_, v)) in zip(twice, sides, strict=True)) / 3 / sum(twice)


@given(technique=swirls, share=st.floats(0.05, 0.9), proportion=st.floats(0.6, 2.6), seed=seeds)
@settings(max_examples=25, deadline=None)
def test_a_swirl_takes_its_share_to_two_per_cent(
    technique: Technique, share: float, proportion: float, seed: str
) -> None:
    layers = [Layer(WHITE, 1 - share), Layer("#c9697a", share, technique=technique)]
    drawing = draw(layers, width=proportion, height=1, seed=seed)
    assert area(drawing.figures[0].path) == pytest.approx(share * area(drawing.outline), rel=0.02)


@given(
    poured=st.lists(st.tuples(swirls, st.floats(0.4, 2)), min_size=1, max_size=3),
    below=st.booleans(),
    seed=seeds,
)
@settings(max_examples=8, deadline=None)
def test_no_swirl_hides_another(poured: list[tuple[Technique, float]], below: bool, seed: str) -> None:
    layers = [Layer(WHITE, 3), *(Layer("#c9697a", share, technique=how) for how, share in poured)]
    layers = [Layer(DARK, 2), *layers] if below else [*layers, Layer(DARK, 2)]
    total = sum(layer.share for layer in layers)
    parts = seen(draw(layers, seed=seed))[2:]
    for (_, share), part in zip(poured, parts, strict=True):
        assert part == pytest.approx(share / total, rel=0.02, abs=0.0025)


@given(technique=swirls, seed=seeds)
@settings(max_examples=10, deadline=None)
def test_a_swirl_stays_in_its_band(technique: Technique, seed: str) -> None:
    layers = [
        Layer(DARK, 1, "Below"),
        Layer(WHITE, 2, "Around"),
        Layer("#c9697a", 1, "Rose", technique),
        Layer(DARK, 1, "Above"),
    ]
    drawing = draw(layers, seed=seed)
    above, around, below = (corners(band.path)[:-2] for band in drawing.bands)
    for x, y in corners(drawing.figures[0].path):
        assert min(v for _, v in around) <= y <= max(v for _, v in below)
        assert 0 <= x <= drawing.width
    assert max(v for _, v in above) < min(y for _, y in corners(drawing.figures[0].path))


@given(technique=swirls, share=st.floats(1e-300, 1e300), base=st.floats(1e-300, 1e300))
@settings(max_examples=10, deadline=None)
def test_the_least_and_the_greatest_shares_can_be_drawn(
    technique: Technique, share: float, base: float
) -> None:
    layers = [
        Layer(WHITE, base),
        Layer("#c9697a", share, "Rose", technique),
        Layer(DARK, base, "", technique),
    ]
    assert [figure.colour for figure in draw(layers).figures] == ["#c9697a", DARK]


@pytest.mark.parametrize("technique", SWIRLS)
def test_the_same_seed_gives_the_same_swirl_and_another_gives_another(technique: Technique) -> None:
    assert swirled(technique, 0.2, seed="26-0147") == swirled(technique, 0.2, seed="26-0147")
    assert swirled(technique, 0.2, seed="26-0147") != swirled(technique, 0.2, seed="26-0148")


@given(seed=seeds)
@settings(max_examples=10, deadline=None)
def test_drops_fall_from_the_top_and_are_heavy_below(seed: str) -> None:
    drawing = draw([Layer(WHITE, 4), Layer("#c9697a", 1, "Rose", Technique.DROP)], seed=seed)
    for drop in outlines(drawing.figures[0].path):
        heights = [y for _, y in drop]
        assert min(heights) < 0.1 * drawing.height
        assert centre_of_gravity(drop) > (min(heights) + max(heights)) / 2


@given(seed=seeds)
@settings(max_examples=10, deadline=None)
def test_plumes_rise_from_the_bottom_and_nearly_reach_the_top(seed: str) -> None:
    layers = [Layer(WHITE, 4), Layer("#c9697a", 1, "Rose", Technique.HANGER)]
    drawing = draw(layers, seed=seed)
    heights = [y for _, y in corners(drawing.figures[0].path)]
    assert max(heights) == pytest.approx(drawing.height, abs=0.1)
    assert min(heights) < 0.3 * drawing.height


@given(seed=seeds)
@settings(max_examples=10, deadline=None)
def test_streaks_are_drawn_out_across_the_band(seed: str) -> None:
    streaks = outlines(swirled(Technique.POT, 0.2, seed=seed))
    across = [x for streak in streaks for x, _ in streak]
    assert max(across) - min(across) > 70
    assert len(streaks) >= 3


def test_swirls_join_the_band_below_and_add_to_its_height() -> None:
    plain = draw([Layer(DARK, 1), Layer(WHITE, 1)])
    joined = draw(
        [
            Layer(DARK, 1),
            Layer(WHITE, 0.5),
            Layer("#c9697a", 0.3, "Rose", Technique.POT),
            Layer("#4d8c86", 0.2, "Sea", Technique.HANGER),
        ]
    )
    assert [band.path for band in joined.bands] == [band.path for band in plain.bands]
    assert [(figure.colour, figure.name) for figure in joined.figures] == [
        ("#c9697a", "Rose"),
        ("#4d8c86", "Sea"),
    ]


def test_a_swirl_with_nothing_below_starts_a_band() -> None:
    drawing = draw([Layer("#C9697A", 1, "Rose", Technique.DROP), Layer(WHITE, 1, "White")])
    assert [band.name for band in drawing.bands] == ["White", "Rose"]
    assert drawing.figures == ()


def test_a_thumbnail_of_two_swirls_stays_light() -> None:
    layers = [Layer(WHITE, 6), *(Layer("#c9697a", 2, technique=Technique.POT) for _ in range(2))]
    drawing = draw(layers, tolerance=COARSE)
    assert sum(len(figure.path) for figure in drawing.figures) < 8_000
