"""The chart of how colours turned: lightness, and the difference from the first day, by day of the cure.

Pure arithmetic; the drawing is in the pixels of its own box. Lightness is L* (0 to 100), the difference is
CIEDE2000.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import cycle, pairwise
from typing import NamedTuple

from shared.colour import SIDE_BY_SIDE

WIDTH, HEIGHT = 320, 136
LEFT, RIGHT, TOP, BOTTOM = 36.0, 288.0, 12.0, 104.0
BESIDE = 12
LINE_OF_TEXT = 14.0
DAY_WIDTH = 28.0
LEAST_LIGHTNESS = 4.0
LEAST_DIFFERENCE = 2.0
STEPS = (1, 2, 5, 10, 20, 50)
MOST_LINES = 4
SHAPES = (
    "M-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0Z",
    "M-4-4H4V4H-4Z",
    "M0-5L5 4H-5Z",
    "M0-5L5 0L0 5L-5 0Z",
    "M-5-4H5L0 5Z",
    "M-2-5H2V-2H5V2H2V5H-2V2H-5V-2H-2Z",
)
"""A mark for each portion, drawn around its point; after six they come again."""


class Measured(NamedTuple):
    """One reading: day of the cure, L*, CIEDE2000 from the first day, and its colour for the screen."""

    day: int
    lightness: float
    difference: float
    colour: str


class Charted(NamedTuple):
    """The readings of one portion, the oldest first, and the letter that names it."""

    letter: str
    readings: Sequence[Measured]


class Point(NamedTuple):
    x: float
    y: float
    colour: str


class Line(NamedTuple):
    """A portion in a panel. `path` and `shape`, of its marks, are SVG path data; named at `letter_y`."""

    letter: str
    colour: str
    shape: str
    path: str
    points: tuple[Point, ...]
    letter_y: float


class Grid(NamedTuple):
    """A level that is written at the left, or a day that is written below."""

    at: float
    figure: int


class Panel(NamedTuple):
    """`side_by_side` is the height of the difference that the eye sees; None in the panel of lightness."""

    lines: tuple[Line, ...]
    levels: tuple[Grid, ...]
    side_by_side: float | None


@dataclass(frozen=True, slots=True)
class Chart:
    """Two panels with the same days below both."""

    lightness: Panel
    difference: Panel
    days: tuple[Grid, ...]
    width: int = WIDTH
    height: int = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    beside: int = BESIDE


def draw(portions: Sequence[Charted]) -> Chart | None:
    """Both panels; None while all readings are of one day."""
    days = sorted({one.day for portion in portions for one in portion.readings})
    if len(days) < 2:
        return None

    def across(day: int) -> float:
        return round(LEFT + (RIGHT - LEFT) * (day - days[0]) / (days[-1] - days[0]), 1)

    return Chart(
        lightness=_panel(portions, across, lambda one: one.lightness, LEAST_LIGHTNESS),
        difference=_panel(portions, across, lambda one: one.difference, LEAST_DIFFERENCE, SIDE_BY_SIDE),
        days=tuple(_days(days, across)),
    )


def _panel(
    portions: Sequence[Charted],
    across: Callable[[int], float],
    figure: Callable[[Measured], float],
    least: float,
    side_by_side: float | None = None,
) -> Panel:
    """`least` is the smallest stretch that is shown: so a small change does not look like a large one."""
    figures = [figure(one) for portion in portions for one in portion.readings]
    levels = _levels(min(figures), max(figures), least)
    low, high = levels[0], levels[-1]

    def down(value: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP) * (value - low) / (high - low), 1)

    points = [
        tuple(Point(across(one.day), down(figure(one)), one.colour) for one in portion.readings)
        for portion in portions
    ]
    ends = _apart([each[-1].y for each in points])
    return Panel(
        lines=tuple(
            Line(portion.letter, each[-1].colour, shape, _path(each), each, end)
            for portion, shape, each, end in zip(portions, cycle(SHAPES), points, ends)
        ),
        levels=tuple(Grid(down(level), level) for level in levels),
        side_by_side=None if side_by_side is None else down(side_by_side),
    )


def _levels(least: float, most: float, stretch: float) -> list[int]:
    """Round figures from below the least to above the most, a few of them, at least so far apart."""
    most = max(most, least + stretch)
    ends = ((step, math.floor(least / step), math.ceil(most / step)) for step in STEPS)
    step, low, high = next(each for each in ends if each[2] - each[1] <= MOST_LINES)
    return [step * level for level in range(low, high + 1)]


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{point.x:g} {point.y:g}" for point in points)


def _apart(heights: Sequence[float]) -> list[float]:
    """The same heights, moved as little down, then up, as it takes to write a letter at each."""
    order = sorted(range(len(heights)), key=lambda number: heights[number])
    apart = list(heights)
    for above, below in pairwise(order):
        apart[below] = max(apart[below], apart[above] + LINE_OF_TEXT)
    apart[order[-1]] = min(apart[order[-1]], BOTTOM)
    for below, above in pairwise(reversed(order)):
        apart[above] = min(apart[above], apart[below] - LINE_OF_TEXT)
    return apart


def _days(days: Sequence[int], across: Callable[[int], float]) -> Iterable[Grid]:
    """The first and the last day, and those between for which there is room."""
    last = across(days[-1])
    end = -DAY_WIDTH
    for day in days[:-1]:
        if across(day) - end >= DAY_WIDTH and (day == days[0] or last - across(day) >= DAY_WIDTH):
            end = across(day)
            yield Grid(end, day)
    yield Grid(last, days[-1])
