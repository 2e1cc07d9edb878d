"""The picture of a safety range: where the lye-heavy side, the likely range and the aim lie.

Pure geometry in the pixels of one drawing; figures are superfat in per cent.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

WIDTH = 320.0
HATCH_TOP, HATCH_BOTTOM, HATCH_STEP = 4.0, 22.0, 7.0
LOWEST, HIGHEST = -20.0, 40.0  # an axis longer than this would show nothing

_END = 16.0  # pixels kept free on the right for half of the last figure


@dataclass(frozen=True, slots=True)
class Tick:
    """A figure under the axis."""

    x: float
    label: str


@dataclass(frozen=True, slots=True)
class Strip:
    """Places along the axis in pixels; `hatch` is SVG path data for the lye-heavy side."""

    zero: float
    likely_low: float
    likely_high: float
    worst_low: float
    worst_high: float
    aim: float | None
    hatch: str
    ticks: tuple[Tick, ...]


def lay_out(
    *, likely_low: float, likely_high: float, worst_low: float, worst_high: float, aim: float | None = None
) -> Strip:
    """Lay the figures out on an axis from below zero to 10 % or more; what lies beyond stops at its end."""
    high = min(max(10.0, math.ceil(worst_high) + 1.0), HIGHEST)
    low = max(min(-high / 3, math.floor(worst_low) - 1.0), LOWEST)

    def place(superfat: float) -> float:
        return round((WIDTH - _END) * (min(max(superfat, low), high) - low) / (high - low), 1)

    step = 5 if high - low <= 30 else 10
    figures = range(0, math.floor(high) + 1, step)
    return Strip(
        zero=place(0),
        likely_low=place(likely_low),
        likely_high=place(likely_high),
        worst_low=place(worst_low),
        worst_high=place(worst_high),
        aim=None if aim is None else place(aim),
        hatch="".join(_hatch(place(0))),
        ticks=tuple(Tick(place(x), f"{x} %" if x == figures[-1] else str(x)) for x in figures),
    )


def _hatch(end: float) -> Iterator[str]:
    """Yield strokes at 45 degrees that fill the box from 0 to `end`, cut off at its sides."""
    rise = HATCH_BOTTOM - HATCH_TOP
    start = HATCH_STEP - rise
    while start < end:
        left, right = max(start, 0.0), min(start + rise, end)
        yield f"M{left:g} {HATCH_BOTTOM - left + start:g}L{right:g} {HATCH_BOTTOM - right + start:g}"
        start += HATCH_STEP
