"""The borders of the bands of a bar, cut and drawn up by hand. Heights are counted from the floor."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import accumulate, pairwise

from shared.cross_section.design import Layer, Technique
from shared.cross_section.geometry import areas, chances

STEPS = 60  # straight pieces a border is made of

WAVE = 0.025  # height of a hand-cut wave, as a share of the bar's height
_LONG, _SHORT = 2, 5  # whole waves across the bar, so that a wave takes nothing from either band
_PEAK = 0.17  # height of a peak above the valley beside it, as a share of the bar's height


def borders(bands: Sequence[Sequence[Layer]], bar_height: float, seed: str) -> list[list[float]]:
    """Return the floor and the upper border of each band, as heights at even steps from left to right."""
    shares = [sum(layer.share for layer in band) for band in bands]
    heights = [bar_height * share / sum(shares) for share in shares]
    # A border must stay inside the thinner of the two bands it parts; the top has only one below it.
    rooms = [min(pair) / 2 for pair in pairwise(heights)] + [heights[-1]]
    drawn = [[0.0] * (STEPS + 1)]
    for number, (band, level, room) in enumerate(zip(bands, accumulate(heights), rooms, strict=True)):
        hand = chances(f"{seed}/{number}")
        if band[0].technique is Technique.TOP:
            shape = _peaks(min(_PEAK * bar_height, room), hand)
        else:
            shape = list(_wave(min(WAVE * bar_height, room / 2), hand))
        drawn.append([level + rise for rise in shape])
    return drawn


def _wave(height: float, hand: Iterator[float]) -> Iterator[float]:
    long_phase, short_phase = math.tau * next(hand), math.tau * next(hand)
    for step in range(STEPS + 1):
        turn = math.tau * step / STEPS
        yield height * (
            0.7 * math.sin(_LONG * turn + long_phase) + 0.3 * math.sin(_SHORT * turn + short_phase)
        )


def _peaks(height: float, hand: Iterator[float]) -> list[float]:
    """Three to five peaks, each leaning a little, as much above nought as the valleys are below."""
    number = 3 + int(3 * next(hand))
    shape = [0.0] * (STEPS + 1)
    for peak in range(number):
        tip = round((peak + 0.3 + 0.4 * next(hand)) / number * STEPS) / STEPS
        tall = 0.7 + 0.3 * next(hand)
        lean = 0.3 * next(hand) - 0.15
        for step in range(STEPS + 1):
            away = (step / STEPS - tip) * number
            reach = 0.7 + math.copysign(lean, lean * away)
            shape[step] += tall * max(1 - (abs(away) / reach) ** 0.8, 0.0) ** 2
    mean = areas(shape, 1.0)[-1]
    return [height * (rise - mean) for rise in shape]
