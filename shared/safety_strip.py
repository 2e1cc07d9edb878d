"""The picture of a safety range: where the lye-heavy side, the likely range and the aim lie.

Pure geometry in the pixels of one drawing; figures are superfat in per cent. js/pocket/strip.js is the same
for the phone.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

WIDTH = 320.0
BAR_TOP, BAR_BOTTOM, HATCH_STEP = 18.0, 36.0, 7.0
LOWEST, HIGHEST = -60.0, 40.0  # an axis longer than this would show nothing

_END = 16.0  # pixels kept free on the right for half of the last figure
_WORDS_LEFT, _WORDS_RIGHT = 92.0, 244.0  # where the word of the aim stands clear of those at the ends


@dataclass(frozen=True, slots=True)
class Tick:
    """A figure under the axis."""

    x: float
    label: str


@dataclass(frozen=True, slots=True)
class Strip:
    """Places along the axis in pixels; `hatch` is SVG path data for the lye-heavy side.

    `aim_word` is the middle of the words that name the aim.
    """

    zero: float
    likely_low: float
    likely_high: float
    worst_low: float
    worst_high: float
    aim: float | None
    aim_word: float | None
    hatch: str
    ticks: tuple[Tick, ...]


def lay_out(
    *, likely_low: float, likely_high: float, worst_low: float, worst_high: float, aim: float | None = None
) -> Strip:
    """Lay the figures out on an axis from below zero to 10 % or more; what lies beyond stops at its end."""
    high = min(max(10.0, math.ceil(worst_high) + 1.0), HIGHEST)
    low = max(min(-high / 3, math.floor(worst_low) - 1.0), LOWEST)

    def place(superfat: float) -> float:
        exact = (WIDTH - _END) * (min(max(superfat, low), high) - low) / (high - low)
        return math.floor(10 * exact + 0.5) / 10

    step = 5 if high - low <= 30 else 10
    figures = range(0, math.floor(high) + 1, step)
    aimed = None if aim is None else place(aim)
    return Strip(
        zero=place(0),
        likely_low=place(likely_low),
        likely_high=place(likely_high),
        worst_low=place(worst_low),
        worst_high=place(worst_high),
        aim=aimed,
        aim_word=None if aimed is None else min(max(aimed, _WORDS_LEFT), _WORDS_RIGHT),
        hatch="".join(_hatch(place(0))),
        ticks=tuple(Tick(place(x), f"{x} %" if x == figures[-1] else str(x)) for x in figures),
    )


def _hatch(end: float) -> Iterator[str]:
    """Yield strokes at 45 degrees that fill the bar from 0 to `end`, cut off at its sides."""
    rise = BAR_BOTTOM - BAR_TOP
    start = HATCH_STEP - rise
    while start < end:
        left, right = max(start, 0.0), min(start + rise, end)
        from_y, to_y = BAR_BOTTOM - left + start, BAR_BOTTOM - right + start
        yield f"M{left:.1f} {from_y:.1f}L{right:.1f} {to_y:.1f}"
        start += HATCH_STEP
