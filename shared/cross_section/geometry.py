"""Points, outlines and chance, for the drawing of a bar. Pure geometry, without units."""

from __future__ import annotations

import hashlib
import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, pairwise
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
Outline: TypeAlias = list[Point]


def chances(seed: str) -> Iterator[float]:
    """Yield numbers from 0 to below 1 without end, always the same ones for the same seed."""
    block = hashlib.sha256(seed.encode()).digest()
    while True:
        yield from (byte / 256 for byte in block)
        block = hashlib.sha256(block).digest()


def between(low: float, high: float, part: float) -> float:
    """Return what lies that part of the way from `low` to `high`."""
    return low + (high - low) * part


def areas(heights: Sequence[float], width: float) -> list[float]:
    """Return the area below evenly spaced heights from the left up to each, over `width` in all."""
    step = width / (len(heights) - 1)
    return [0.0, *accumulate((left + right) / 2 * step for left, right in pairwise(heights))]


def find(sums: Sequence[float], value: float) -> tuple[int, float]:
    """Return in which step of running sums `value` lies, and how far along it, from 0 to 1."""
    step = min(max(bisect_right(sums, value) - 1, 0), len(sums) - 2)
    length = sums[step + 1] - sums[step]
    return step, min(max((value - sums[step]) / length, 0.0), 1.0) if length else 0.0


def simplified(line: Sequence[Point], tolerance: float) -> Outline:
    """Leave out the points that lie within `tolerance` of the line through those that stay.

    Douglas and Peucker (1973), Cartographica 10 (2), 112-122; cited from memory.
    """
    if len(line) < 3:
        return list(line)
    offs = [_off(point, line[0], line[-1]) for point in line[1:-1]]
    furthest = max(range(len(offs)), key=offs.__getitem__)
    if offs[furthest] <= tolerance:
        return [line[0], line[-1]]
    corner = furthest + 1
    return simplified(line[: corner + 1], tolerance)[:-1] + simplified(line[corner:], tolerance)


def _off(point: Point, start: Point, end: Point) -> float:
    """Distance of a point from the line through two others, or from these where they are one."""
    length = math.dist(start, end)
    if not length:
        return math.dist(point, start)
    (x, y), (x1, y1), (x2, y2) = point, start, end
    return abs((x2 - x1) * (y1 - y) - (x1 - x) * (y2 - y1)) / length


def path(outlines: Iterable[Sequence[Point]]) -> str:
    """Write closed outlines as SVG path data, to a tenth."""
    return "".join(
        f"M{' '.join(f'{round(x, 1):g} {round(y, 1):g}' for x, y in outline)}Z" for outline in outlines
    )
