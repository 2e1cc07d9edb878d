"""From a design to paths. Coordinates run as in SVG: x to the right, y down, the origin at the top left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from shared.cross_section.borders import STEPS, WAVE, borders
from shared.cross_section.design import Embed, Layer, Topping, bands_of, check
from shared.cross_section.geometry import Outline, Point, areas, between, chances, find, path, simplified
from shared.cross_section.patterns import pattern
from shared.cross_section.pieces import embed_outlines, headroom, topping_outlines
from shared.cross_section.swirl import pour

DRAWN_WIDTH = 120.0
NARROWEST, WIDEST = 0.6, 2.6  # width over height; beyond these a thumbnail could not be read
FINE, COARSE = 0.1, 0.25  # by how much an outline may be simplified, for a large picture and a thumbnail
_LONGEST = 0.2  # side of a swirl's outline before it is simplified, in band widths to a unit of tolerance


@dataclass(frozen=True, slots=True)
class Figure:
    """What is seen of one layer, embed or topping: an SVG path to fill."""

    colour: str
    path: str
    name: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """To be painted in this order: embeds, bands, the figures swirled into them, the outline, toppings."""

    width: float
    height: float
    embeds: tuple[Figure, ...]
    bands: tuple[Figure, ...]
    figures: tuple[Figure, ...]
    outline: str
    toppings: tuple[Figure, ...]


def draw(
    layers: Sequence[Layer],
    embeds: Sequence[Embed] = (),
    toppings: Sequence[Topping] = (),
    *,
    width: float = 3.0,
    height: float = 2.0,
    seed: str = "",
    tolerance: float = FINE,
) -> Drawing:
    """Draw `layers`, the first poured first, in a mould of `width` by `height` (any one unit of length).

    The same `seed` always gives the same hand, so a batch keeps its looks. The area of a layer is its share
    of the bar, whether it lies on the others, is textured or is swirled into the one before it. `tolerance`
    is how far a swirl may be off its true outline, where the bar is `DRAWN_WIDTH` wide. Raises `ValueError`
    for no layers, a colour that is not #rrggbb, a share or side that is not a positive number, or less than
    one embed.
    """
    check(layers, embeds, toppings, (width, height))
    return _drawn(tuple(layers), tuple(embeds), tuple(toppings), width / height, seed, tolerance)


@lru_cache(maxsize=512)  # a list shows many bars, and mostly the same ones the next time
def _drawn(
    layers: tuple[Layer, ...],
    embeds: tuple[Embed, ...],
    toppings: tuple[Topping, ...],
    proportion: float,
    seed: str,
    tolerance: float,
) -> Drawing:
    bar_height = DRAWN_WIDTH / min(max(proportion, NARROWEST), WIDEST)
    bands = bands_of(layers)
    rises = borders(bands, bar_height, seed)
    above = max(rises[-1]) + headroom(embeds, toppings, DRAWN_WIDTH)
    floor = max(above, (1 + WAVE) * bar_height)
    edges = [
        [(DRAWN_WIDTH * step / STEPS, floor - rise) for step, rise in enumerate(border)] for border in rises
    ]
    # From the top down, each band reaching the floor: no gap can show between two of them.
    painted = tuple(
        _figure(band[0], [[*simplified(edge, tolerance / 4), (DRAWN_WIDTH, floor), (0.0, floor)]])
        for band, edge in reversed(list(zip(bands, edges[1:], strict=True)))
    )
    return Drawing(
        DRAWN_WIDTH,
        round(floor, 1),
        embeds=tuple(
            _figure(embed, outlines)
            for embed, outlines in zip(embeds, embed_outlines(embeds, edges[-1], seed), strict=True)
        ),
        bands=painted,
        figures=tuple(
            _figure(layer, [simplified(outline, tolerance) for outline in outlines])
            for number, (band, (lower, upper)) in enumerate(zip(bands, pairwise(edges), strict=True))
            for layer, outlines in _swirls(band, lower, upper, f"{seed}/{number}/swirls", tolerance)
        ),
        outline=painted[0].path,
        toppings=tuple(_figure(topping, topping_outlines(topping, edges[-1], seed)) for topping in toppings),
    )


def _figure(part: Layer | Embed | Topping, outlines: Sequence[Outline]) -> Figure:
    return Figure(part.colour.lower(), path(outlines), part.name)


def _swirls(
    band: Sequence[Layer], lower: Sequence[Point], upper: Sequence[Point], seed: str, tolerance: float
) -> Iterator[tuple[Layer, list[Outline]]]:
    """Each colour swirled into a band, in the order poured."""
    thick = [low - high for (_, low), (_, high) in zip(lower, upper, strict=True)]
    area = areas(thick, DRAWN_WIDTH)
    aspect = DRAWN_WIDTH / max(area[-1] / DRAWN_WIDTH, 1.0)
    hand = chances(seed)
    colours: list[list[Outline]] = []
    share = band[0].share
    for layer in band[1:]:
        share += layer.share
        into = pattern(layer.technique, aspect, hand)
        colours = pour(colours, into, layer.share / share, longest=_LONGEST * tolerance)
    for layer, outlines in zip(band[1:], colours, strict=True):
        yield layer, [[_placed(point, lower, upper, area) for point in outline] for outline in outlines]


def _placed(point: Point, lower: Sequence[Point], upper: Sequence[Point], area: Sequence[float]) -> Point:
    """Put a point of a band one wide and one high to its place between two borders, all areas kept."""
    step, part = find(area, point[0] * area[-1])
    (x, low), (next_x, next_low) = lower[step], lower[step + 1]
    high, next_high = upper[step][1], upper[step + 1][1]
    bottom, top = between(low, next_low, part), between(high, next_high, part)
    return between(x, next_x, part), between(bottom, top, point[1])
