"""What lies on top of a bar: embeds half sunk into it, and specks of toppings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from shared.cross_section.design import Embed, Topping
from shared.cross_section.geometry import Outline, Point, between, chances

_LARGEST = 1 / 15  # half the width of an embed, as a share of the bar's
_MOST = 24  # embeds drawn of one kind; more could not be told apart
_UP = 0.2  # how far the middle of an embed lies above the top, as a share of half its width
_SPECKS = 14  # of each topping
_SPECK = 1 / 60  # half the length of the longest speck, as a share of the bar's width


def embed_radius(embeds: Sequence[Embed], width: float) -> float:
    """Return half the width of an embed, so that all find room on a bar of that width; 0 without any."""
    number = sum(min(embed.count, _MOST) for embed in embeds)
    return min(_LARGEST, 0.4 / number) * width if number else 0.0


def headroom(embeds: Sequence[Embed], toppings: Sequence[Topping], width: float) -> float:
    """Return how far pieces reach above the top of a bar of that width."""
    specks = 2 * _SPECK * width if toppings else 0.0
    return max((1 + _UP) * embed_radius(embeds, width), specks)


def embed_outlines(embeds: Sequence[Embed], top: Sequence[Point], seed: str) -> list[list[Outline]]:
    """Return the pieces of each kind, evenly set along the top and mixed with each other."""
    hand = chances(f"{seed}/embeds")
    radius = embed_radius(embeds, top[-1][0])
    counts = [min(embed.count, _MOST) for embed in embeds]
    row = sorted(((piece + 0.5) / count, kind) for kind, count in enumerate(counts) for piece in range(count))
    outlines: list[list[Outline]] = [[] for _ in embeds]
    for place, (_, kind) in enumerate(row):
        x, y = _on(top, (place + 0.5) / len(row))
        outlines[kind].append(_rounded((x, y - _UP * radius), radius, 0.9 + 0.1 * next(hand), 24, hand))
    return outlines


def topping_outlines(topping: Topping, top: Sequence[Point], seed: str) -> list[Outline]:
    """Return specks scattered along the top."""
    hand = chances(f"{seed}/{topping.colour}/{topping.name}")
    specks = []
    for speck in range(_SPECKS):
        x, y = _on(top, (speck + 0.25 + 0.5 * next(hand)) / _SPECKS)
        length = between(0.5, 1, next(hand)) * _SPECK * top[-1][0]
        specks.append(_rounded((x, y - length * next(hand)), length, between(0.4, 0.9, next(hand)), 8, hand))
    return specks


def _on(top: Sequence[Point], part: float) -> Point:
    step = int(part * (len(top) - 1))
    (x, y), (x2, y2) = top[step], top[step + 1]
    along = part * (len(top) - 1) - step
    return between(x, x2, along), between(y, y2, along)


def _rounded(centre: Point, radius: float, flat: float, corners: int, hand: Iterator[float]) -> Outline:
    """An ellipse turned by chance, its short half axis `flat` times the long one."""
    tilt = math.pi * next(hand)
    turns = [math.tau * corner / corners for corner in range(corners)]
    return [
        (
            centre[0] + radius * (math.cos(turn) * math.cos(tilt) - flat * math.sin(turn) * math.sin(tilt)),
            centre[1] + radius * (math.cos(turn) * math.sin(tilt) + flat * math.sin(turn) * math.cos(tilt)),
        )
        for turn in turns
    ]
