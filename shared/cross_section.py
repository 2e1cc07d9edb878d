"""The picture of a bar cut across: its layers in their own colours and heights, drawn to scale.

Pure geometry. Coordinates run as in SVG, x to the right and y down, with the origin at the top left of the
drawing; a drawing is always `DRAWN_WIDTH` wide and its height follows the mould.
"""

import hashlib
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from shared.words import Phrase

DRAWN_WIDTH = 120.0
NARROWEST, WIDEST = 0.6, 2.6  # width over height; beyond these a thumbnail could not be read
COLOUR = re.compile(r"#[0-9a-fA-F]{6}")

_WAVE = 0.025  # height of a hand-cut wave, as a share of the bar's height
_LONG, _SHORT = 2, 5  # whole waves across the bar, so that a wave takes nothing from either layer
_STEPS = 20  # straight pieces a border is made of


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer, poured on the one before. `share` is its part of the height, on any common scale."""

    colour: str
    share: float
    name: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """What is seen of one layer: an SVG path to fill."""

    colour: str
    path: str
    name: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """Bands to be painted in their order, and the outline to be drawn over them."""

    width: float
    height: float
    bands: tuple[Band, ...]
    outline: str


def draw(layers: Sequence[Layer], *, width: float = 3.0, height: float = 2.0, seed: str = "") -> Drawing:
    """Draw `layers`, the lowest first, in a mould of `width` by `height` (any one unit of length).

    The same `seed` always gives the same hand-cut borders, so a batch keeps its looks. Every border wavers
    about its true height: the area of a layer is its share of the bar. Raises `ValueError` for no layers, a
    colour that is not #rrggbb, or a share or side that is not a positive number.
    """
    _check(layers, width, height)
    drawn_height = DRAWN_WIDTH / min(max(width / height, NARROWEST), WIDEST)
    total = sum(layer.share for layer in layers)
    heights = [drawn_height * layer.share / total for layer in layers]
    wave = _WAVE * drawn_height
    floor = wave + drawn_height
    levels = [floor - top for top in accumulate(heights)]
    # A wave must stay inside the thinner of the two layers it parts; the top has only one below it.
    rooms = [min(pair) for pair in pairwise(heights)] + [heights[-1]]
    edges = [
        _edge(level, min(wave, room / 4), f"{seed}/{number}")
        for number, (level, room) in enumerate(zip(levels, rooms, strict=True))
    ]
    # From the top down, each band reaching the floor: no gap can show between two of them.
    bands = tuple(
        Band(layer.colour.lower(), f"M{edge} L{DRAWN_WIDTH:g} {floor:.1f} 0 {floor:.1f}Z", layer.name)
        for layer, edge in reversed(list(zip(layers, edges, strict=True)))
    )
    return Drawing(DRAWN_WIDTH, round(floor, 1), bands, outline=bands[0].path)


def describe(layers: Sequence[Layer]) -> Phrase:
    """Say in words what the drawing shows, for those who do not see it."""
    if len(layers) == 1:
        return Phrase("Cross-section: %(layer)s", layer=layers[0].name or Phrase("one layer"))
    total = sum(layer.share for layer in layers)
    parts = (f"{layer.name or 'unnamed'} {100 * layer.share / total:.0f} %" for layer in layers)
    return Phrase("Cross-section from the bottom up: %(layers)s", layers=", ".join(parts))


def _check(layers: Sequence[Layer], width: float, height: float) -> None:
    if not layers:
        raise ValueError("A cross-section needs at least one layer.")
    for layer in layers:
        if not COLOUR.fullmatch(layer.colour):
            raise ValueError(f"{layer.colour[:20]!r} is not a colour such as #a4472a.")
    sizes = [width, height, *(layer.share for layer in layers)]
    if not all(math.isfinite(size) and size > 0 for size in sizes):
        raise ValueError("Shares and sides of a cross-section must be positive numbers.")


def _edge(level: float, wave: float, seed: str) -> str:
    """Return a hand-cut border about `level`, left to right, as SVG path data."""
    return " ".join(f"{x:g} {y:.1f}" for x, y in _points(level, wave, seed))


def _points(level: float, wave: float, seed: str) -> Iterator[tuple[float, float]]:
    long_phase, short_phase = (math.tau * byte / 256 for byte in hashlib.sha256(seed.encode()).digest()[:2])
    for step in range(_STEPS + 1):
        turn = math.tau * step / _STEPS
        rise = 0.7 * math.sin(_LONG * turn + long_phase) + 0.3 * math.sin(_SHORT * turn + short_phase)
        yield DRAWN_WIDTH * step / _STEPS, level + wave * rise
