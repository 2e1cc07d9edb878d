"""What is seen of a bar that has been drawn, measured from its paths."""

from __future__ import annotations

import re
from itertools import pairwise

from shared.cross_section import Drawing

Point = tuple[float, float]
Span = tuple[float, float]
LEVELS = 300


def outlines(path: str) -> list[list[Point]]:
    """The closed outlines of SVG path data made of straight lines."""
    return [
        list(zip(figures[::2], figures[1::2], strict=True))
        for figures in (
            [float(figure) for figure in re.split("[ L]+", one)] for one in path[1:-1].split("ZM")
        )
    ]


def corners(path: str) -> list[Point]:
    return [corner for outline in outlines(path) for corner in outline]


def area(path: str) -> float:
    """Area of the outlines by the shoelace formula."""
    return sum(
        abs(sum(x * v - u * y for (x, y), (u, v) in pairwise([*points, points[0]]))) / 2
        for points in outlines(path)
    )


def seen(drawing: Drawing) -> list[float]:
    """Area seen of each band and figure, as a share of the bar, where what is painted later covers it.

    Measured along many levels, exact along each.
    """
    painted = [outlines(part.path) for part in (*drawing.bands, *drawing.figures)]
    lengths = [0.0] * len(painted)
    for level in range(LEVELS):
        y = drawing.height * (level + 0.5) / LEVELS
        covered: list[Span] = []
        for number in reversed(range(len(painted))):
            both = _joined([*covered, *_spans(painted[number], y)])
            lengths[number] += _length(both) - _length(covered)
            covered = both
    return [length / sum(lengths) for length in lengths]


def _spans(figure: list[list[Point]], y: float) -> list[Span]:
    """From where to where the outlines lie on a level."""
    found: list[Span] = []
    for points in figure:
        crossings = sorted(
            x + (u - x) * (y - h) / (v - h)
            for (x, h), (u, v) in pairwise([*points, points[0]])
            if (h <= y) != (v <= y)
        )
        found += zip(crossings[::2], crossings[1::2], strict=True)
    return found


def _joined(spans: list[Span]) -> list[Span]:
    """The same stretches without overlaps."""
    joined: list[Span] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined


def _length(spans: list[Span]) -> float:
    return sum(high - low for low, high in spans)
