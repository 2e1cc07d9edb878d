"""What each swirl looks like: the strands a colour comes in by, and how it is stirred. All figures by eye."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import accumulate, pairwise

from shared.cross_section.design import Technique
from shared.cross_section.geometry import between
from shared.cross_section.swirl import ROWS, Course, Eddy, Gap, Pour, Strand

_TRACE = 1e-6  # thickness past the end of a strand: it goes there only when its share leaves no other place


def pattern(technique: Technique, aspect: float, hand: Iterator[float]) -> Pour:
    """Return how a colour comes into a band that is `aspect` times as wide as it is high."""
    if technique is Technique.DROP:
        return _drops(min(3 + round(aspect / 2), 6), hand)
    if technique is Technique.HANGER:
        return _plumes(min(3 + round(aspect / 4), 5), hand)
    return _streaks(max(6 - round(aspect / 2), 3), hand)


def _drops(number: int, hand: Iterator[float]) -> Pour:
    strands = [Strand(lane, _drop(hand), _sway(0.35, 0.55, hand)) for lane in _lanes(number, hand)]
    return Pour(strands, upright=True, eddies=_eddies(hand, (number, 2, 0.003), (3, 1, 0.006)))


def _plumes(number: int, hand: Iterator[float]) -> Pour:
    strands = [Strand(lane, _plume(hand), _sway(0.8, 1, hand)) for lane in _lanes(number, hand)]
    tall, curled = (2 * number, 1, 0.065 / number), (2 * number - 1, 2, 0.04 / number)
    return Pour(strands, upright=True, eddies=_eddies(hand, tall, curled))


def _streaks(number: int, hand: Iterator[float]) -> Pour:
    strands = [Strand(lane, _streak(hand), _sway(1.1, 1, hand)) for lane in _lanes(number, hand)]
    return Pour(strands, upright=False, eddies=_eddies(hand, (1, 3, 0.016), (2, 2, 0.026), (4, 3, 0.012)))


def _drop(hand: Iterator[float]) -> Course:
    """From the top of the band down to a tip: a thin tail that opens into a round drop."""
    tip = round(between(0.06, 0.42, next(hand)) * ROWS) / ROWS

    def thick(up: float) -> float:
        fallen = min((1 - up) / (1 - tip), 1.0)
        return (0.04 + 3 * math.pow(fallen, 2.2)) * math.pow(1 - fallen**2, 0.8) + _TRACE

    return thick


def _plume(hand: Iterator[float]) -> Course:
    """From the bottom of the band up to a tip, ever thinner."""
    tip = between(0.85, 0.97, next(hand))

    def thick(up: float) -> float:
        risen = min(up / tip, 1.0)
        return (1 - 0.7 * risen) * math.sqrt(1 - risen**4) + _TRACE

    return thick


def _streak(hand: Iterator[float]) -> Course:
    """A lens, thickest a little before its middle."""
    start, end = between(0, 0.35, next(hand)), between(0.65, 1, next(hand))

    def thick(along: float) -> float:
        part = min(max((along - start) / (end - start), 0.0), 1.0)
        return math.pow(math.sin(math.pi * math.pow(part, 0.8)), 1.3) + _TRACE

    return thick


def _sway(turns: float, far: float, hand: Iterator[float]) -> Course:
    """To one side of the lane and to the other; right to its walls where `far` is 1."""
    slow, quick = math.tau * next(hand), math.tau * next(hand)

    def aside(along: float) -> float:
        turn = math.tau * turns * along
        return 0.5 + far * (0.35 * math.sin(turn + slow) + 0.15 * math.sin(2.3 * turn + quick))

    return aside


def _lanes(number: int, hand: Iterator[float]) -> list[Gap]:
    widths = [between(1, 1.5, next(hand)) for _ in range(number)]
    return list(pairwise([0.0, *accumulate(width / sum(widths) for width in widths)]))


def _eddies(hand: Iterator[float], *eddies: tuple[int, int, float]) -> list[Eddy]:
    """Turn each a little more or less, to the left or to the right."""
    return [
        Eddy(
            math.pi * across,
            math.pi * up,
            math.copysign(strength * (0.7 + 0.6 * next(hand)), next(hand) - 0.5),
        )
        for across, up, strength in eddies
    ]
