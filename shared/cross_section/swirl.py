"""Swirls: one colour poured into others, each keeping its share to the last drop.

All of it happens in a band that is one wide and one high, its lower left corner at the origin. A colour
comes in as a few strands; what is there already makes way evenly, as a liquid does. Then all of it is stirred
by a flow that nowhere takes up more than it leaves, so no area changes and no two colours come to cover each
other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple, TypeAlias

from shared.cross_section.geometry import Outline, Point, areas, between, find

ROWS = 60  # places along a strand where its sides are worked out
_SEEN = 0.0008  # a strand thinner than this, as a share of the band, has ended
_STEPS = 4  # in which a flow is followed
_DRAWN_OUT = 16  # times its length, at most, that a side of an outline is divided for

Course: TypeAlias = Callable[[float], float]  # of the way along a strand, from 0 to 1
Gap: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Strand:
    """A colour running through its lane: how thick it is, and how far it lies to one side from 0 to 1."""

    lane: Gap
    thick: Course
    aside: Course


class Eddy(NamedTuple):
    """Cells turning against each other: π times their number across and up, and how far they turn."""

    across: float
    up: float
    strength: float


@dataclass(frozen=True, slots=True)
class Pour:
    """How a colour comes in: its strands, whether they run up the band or across, and how it is stirred."""

    strands: Sequence[Strand]
    upright: bool
    eddies: Sequence[Eddy]


def pour(
    colours: Sequence[Sequence[Outline]], into: Pour, share: float, *, longest: float
) -> list[list[Outline]]:
    """Pour one more colour into those of the band so that it takes `share` of it, between 0 and 1.

    Returns the outlines of all colours, the new one last, with no side longer than `longest`. To be painted
    in this order: an outline may run on below a later one that parts it.
    """
    room = _room(into.strands, share)
    free = areas([1 - sum(high - low for low, high in row) for row in room], 1.0)
    made_way = [
        [[_make_way(room, free, point) for point in _turned(outline, into)] for outline in outlines]
        for outlines in colours
    ]
    return [
        [_stirred(_turned(outline, into), into.eddies, longest) for outline in outlines]
        for outlines in [*made_way, list(_outlines(room))]
    ]


def _turned(outline: Outline, into: Pour) -> Outline:
    """Turn from the sight of the band to that along the strands, or back."""
    return [(y, x) for x, y in outline] if into.upright else outline


def _room(strands: Sequence[Strand], share: float) -> list[list[Gap]]:
    """Let the strands swell until they take their share; return from where to where each lies, by row."""
    thick = [[strand.thick(row / ROWS) for row in range(ROWS + 1)] for strand in strands]
    lanes = [high - low for low, high in (strand.lane for strand in strands)]
    weak, strong = -20.0, 20.0
    for _ in range(30):
        strength = (weak + strong) / 2
        widths = [_widths(lane, along, strength) for lane, along in zip(lanes, thick, strict=True)]
        if sum(areas(along, 1.0)[-1] for along in widths) < share:
            weak = strength
        else:
            strong = strength
    return [
        [_gap(strand, row / ROWS, along[row]) for strand, along in zip(strands, widths, strict=True)]
        for row in range(ROWS + 1)
    ]


def _widths(lane: float, thick: Sequence[float], strength: float) -> list[float]:
    """The stronger a strand, the more it fills its lane, without ever leaving it."""
    times = math.exp(strength)
    return [-lane * math.expm1(-times * here) for here in thick]


def _gap(strand: Strand, along: float, width: float) -> Gap:
    low, high = strand.lane
    start = between(low, high - width, strand.aside(along))
    return start, start + width


def _make_way(room: Sequence[Sequence[Gap]], free: Sequence[float], point: Point) -> Point:
    """Where a point goes as the strands come in: evenly squeezed along them, and past them across."""
    row, part = find(free, point[0] * free[-1])
    gaps = [
        (between(low, next_low, part), between(high, next_high, part))
        for (low, high), (next_low, next_high) in zip(room[row], room[row + 1], strict=True)
    ]
    left = point[1] * (1 - sum(high - low for low, high in gaps))
    place = 0.0
    for low, high in gaps:
        if place + left <= low:
            break
        left -= low - place
        place = high
    return (row + part) / ROWS, place + left


def _outlines(room: Sequence[Sequence[Gap]]) -> Iterator[Outline]:
    for strand in zip(*room, strict=True):
        seen = [row for row, (low, high) in enumerate(strand) if high - low >= _SEEN]
        if seen:
            rows = range(max(seen[0] - 1, 0), min(seen[-1] + 1, ROWS) + 1)
            yield [
                *((row / ROWS, strand[row][0]) for row in rows),
                *((row / ROWS, strand[row][1]) for row in reversed(rows)),
            ]


def _stirred(outline: Outline, eddies: Sequence[Eddy], longest: float) -> Outline:
    """Carry an outline along with the flow, with more points where it is drawn out."""
    ends = [(point, _carried(point, eddies)) for point in outline]
    return [
        point for start, end in pairwise([*ends, ends[0]]) for point in _side(start, end, eddies, longest)
    ]


def _side(
    start: tuple[Point, Point], end: tuple[Point, Point], eddies: Sequence[Eddy], longest: float
) -> Outline:
    """One side of an outline, without its end. Both ends come with where they are carried."""
    if math.dist(start[1], end[1]) <= longest or math.dist(start[0], end[0]) <= longest / _DRAWN_OUT:
        return [start[1]]
    middle = between(start[0][0], end[0][0], 0.5), between(start[0][1], end[0][1], 0.5)
    half = middle, _carried(middle, eddies)
    return _side(start, half, eddies, longest) + _side(half, end, eddies, longest)


def _carried(point: Point, eddies: Sequence[Eddy]) -> Point:
    """Follow a point through the flow; it stays in the band, and on a wall where it lies on one.

    The stream function of an eddy is strength · sin(across · x) · sin(up · y), which vanishes at the walls.
    It is half the difference of two waves, cos(across · x - up · y) and cos(across · x + up · y), and what
    flows by each alone is a shear. So it is followed by shears, and no area changes however few the steps.
    """
    x, y = point
    for _ in range(_STEPS):
        for across, up, strength in eddies:
            for slope, part in ((-up, 0.5), (up, -1.0), (-up, 0.5)):
                push = part * strength / 2 / _STEPS * math.sin(across * x + slope * y)
                x, y = x - push * slope, y + push * across
    return _held(point[0], x), _held(point[1], y)


def _held(before: float, after: float) -> float:
    return before if before in {0.0, 1.0} else min(max(after, 0.0), 1.0)
