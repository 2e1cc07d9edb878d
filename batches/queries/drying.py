"""How a bar loses water while it cures: the loss between weigh-ins, and the line drawn of it.

Weights in grams a bar, losses in per cent. Pure arithmetic; the drawing is in the pixels of its own box.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from batches.models import WeighIn

WIDTH, HEIGHT = 320, 136
LEFT, RIGHT, TOP, BOTTOM = 8.0, 312.0, 28.0, 100.0
FLOOR = 112
WEEK = 7


@dataclass(frozen=True, slots=True)
class Point:
    """A weigh-in in the drawing. `beside` is on which side of it there is room for its weight."""

    x: float
    y: float
    weight: Decimal
    beside: str


@dataclass(frozen=True, slots=True)
class DryingCurve:
    """The line through all weigh-ins, and where the ready day stands. `path` is SVG path data."""

    path: str
    points: tuple[Point, ...]
    ready_x: float
    width: int = WIDTH
    height: int = HEIGHT
    floor: int = FLOOR

    @property
    def ends(self) -> tuple[Point, Point]:
        """The first weigh-in and the last."""
        return self.points[0], self.points[-1]


def loss_since(first: Decimal, now: Decimal) -> Decimal:
    """What a bar has lost of its first weight, in per cent; below zero where it gained."""
    return 100 * (first - now) / first


def weekly_loss(weigh_ins: Sequence[WeighIn]) -> Decimal | None:
    """Per cent lost in a week at the pace of the last two weigh-ins; None before there are two."""
    pace = last_two(weigh_ins)
    if pace is None:
        return None
    before, last = pace
    return loss_since(before.bar_weight, last.bar_weight) * WEEK / (last.on - before.on).days


def last_two(weigh_ins: Sequence[WeighIn]) -> tuple[WeighIn, WeighIn] | None:
    """The two that tell the pace, the oldest first as in `weigh_ins`; None before there are two.

    Two on one day say nothing about pace: the last that was on an earlier day counts.
    """
    if not weigh_ins:
        return None
    last = weigh_ins[-1]
    earlier = [one for one in weigh_ins if one.on < last.on]
    return (earlier[-1], last) if earlier else None


def draw(weigh_ins: Sequence[WeighIn], ready_on: date) -> DryingCurve | None:
    """The drying curve, the oldest weigh-in first; None while all are of one day."""
    if not weigh_ins or weigh_ins[0].on == weigh_ins[-1].on:
        return None
    start, end = weigh_ins[0].on, max(weigh_ins[-1].on, ready_on)
    weights = [one.bar_weight for one in weigh_ins]
    heaviest, spread = max(weights), max(weights) - min(weights) or Decimal(1)

    def across(day: date) -> float:
        return round(LEFT + (RIGHT - LEFT) * (day - start).days / (end - start).days, 1)

    def point(one: WeighIn) -> Point:
        x = across(one.on)
        y = TOP + (BOTTOM - TOP) * float((heaviest - one.bar_weight) / spread)
        return Point(x, round(y, 1), one.bar_weight, beside="start" if x < 2 * WIDTH / 3 else "end")

    points = tuple(point(one) for one in weigh_ins)
    path = "M" + "L".join(f"{each.x:g} {each.y:g}" for each in points)
    return DryingCurve(path, points, across(ready_on))
