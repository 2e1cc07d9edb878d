"""What a blend is, worked out from its shares alone."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from shared.blend.acids import Group, group_shares, mixed
from shared.blend.wish import Candidate, Goal, Wish, part_of, whole


@dataclass(frozen=True, slots=True)
class Figures:
    """Figures of a blend. None where a fat in it lacks the figure; ``profile`` counts what is known.

    ``groups``, ``profile``, ``palm`` and ``animal`` are %, ``cost`` is money per kg.
    """

    groups: Mapping[Group, float]
    profile: Mapping[str, float]
    iodine: float | None
    sap: float | None
    cost: float | None
    palm: float
    animal: float


Parts = Sequence[tuple[float, Candidate]]
"""A blend as (share in %, fat)."""


def figures_of(parts: Parts) -> Figures:
    """Figures of a blend, each the mean of its fats' weighted by their shares."""
    profile = mixed((share, fat.profile) for share, fat in parts)
    return Figures(
        groups=group_shares(profile),
        profile=profile,
        iodine=_mean(parts, lambda fat: fat.iodine),
        sap=_mean(parts, lambda fat: fat.sap),
        cost=_mean(parts, lambda fat: fat.price),
        palm=sum(share for share, fat in parts if fat.palm),
        animal=sum(share for share, fat in parts if fat.animal),
    )


def aim_of(wish: Wish, parts: Parts) -> float:
    """What the aim comes to for a blend; see Goal for its unit."""
    return _AIMS[wish.aim.goal](wish, parts)


def moved(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    """Per cent of a blend that differs from another; both by name of fat and adding up to 100."""
    return sum(max(share - other.get(name, 0.0), 0.0) for name, share in one.items())


def _mean(parts: Parts, figure: Callable[[Candidate], float | None]) -> float | None:
    total = 0.0
    for share, fat in parts:
        value = figure(fat)
        if value is None:
            return None
        total += share * value / 100
    return total


def _cost(_: Wish, parts: Parts) -> float:
    return sum(share * (fat.price or 0.0) / 100 for share, fat in parts)


def _missed(wish: Wish, parts: Parts) -> float:
    profile = mixed((share, fat.profile) for share, fat in parts)
    return sum(abs(part_of(profile, part) - percent) for part, percent in wish.aim.target.items())


def _expiring(wish: Wish, parts: Parts) -> float:
    batch = wish.batch_grams or math.inf
    return sum(min(share, 100 * fat.expiring / batch) for share, fat in parts)


def _moved(wish: Wish, parts: Parts) -> float:
    return moved({fat.name: share for share, fat in parts}, whole(wish.recipe))


_AIMS: Mapping[Goal, Callable[[Wish, Parts], float]] = {
    Goal.CHEAPEST: _cost,
    Goal.PROFILE: _missed,
    Goal.EXPIRING: _expiring,
    Goal.RECIPE: _moved,
}
