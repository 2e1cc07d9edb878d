"""A wish as a linear programme.

The first columns are the shares of the fats in %. After them come, where the wish calls for them, a yes or
no for each fat (in the blend or not), the points by which each fat exceeds its share in the recipe, and what
the aim needs: points missed of a profile, or points from what goes off soon.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from shared.blend.programme import Programme, Row
from shared.blend.wish import Candidate, Goal, Kind, Limit, Side, Wish, measured, part_of, whole

_COUNTED = {Kind.COUNT, Kind.SMALLEST}

Limits = Mapping[Limit, tuple[Row, ...]]


@dataclass(frozen=True, slots=True)
class Model:
    """``frame`` always holds; ``limits`` has the rows of each limit; the least of ``aim`` is best."""

    fats: tuple[Candidate, ...]
    frame: Programme
    limits: Limits
    aim: Mapping[int, float]

    @property
    def programme(self) -> Programme:
        """The frame with all limits."""
        return self.within(self.limits)

    def within(self, limits: Iterable[Limit]) -> Programme:
        """The frame with these limits."""
        return self.frame.with_rows(row for limit in limits for row in self.limits[limit])

    def loosened(self, limit: Limit, by: float) -> Programme:
        """The programme with one limit so much milder."""
        others = self.within(other for other in self.limits if other != limit)
        return others.with_rows(Row(row.terms, row.low - by, row.high + by) for row in self.limits[limit])

    def missing(self, values: Sequence[float]) -> float:
        """The aim at these values of the columns: the less the better."""
        return sum(coefficient * values[column] for column, coefficient in self.aim.items())

    def with_row(self, row: Row) -> Model:
        return replace(self, frame=self.frame.with_rows([row]))


def model_of(wish: Wish, fats: Sequence[Candidate]) -> Model:
    """The programme of a checked wish, with these of its fats."""
    draft = _Draft(wish, fats)
    limits = dict.fromkeys([*wish.limits, *_stock(wish, fats)])
    if any(limit.kind in _COUNTED for limit in limits):
        draft.add_yes_or_no()
    if wish.aim.goal is Goal.RECIPE or any(limit.kind is Kind.MOVED for limit in limits):
        draft.add_more_than_recipe()
    aim = _AIMS[wish.aim.goal](draft)
    return Model(tuple(fats), draft.frame, {limit: tuple(draft.rows(limit)) for limit in limits}, aim)


def _stock(wish: Wish, fats: Iterable[Candidate]) -> list[Limit]:
    if wish.batch_grams is None:
        return []
    return [Limit(Kind.STOCK, Side.AT_MOST, fat.on_hand, fat.name) for fat in fats if fat.on_hand is not None]


class _Draft:
    """The frame while it grows."""

    def __init__(self, wish: Wish, fats: Sequence[Candidate]) -> None:
        self.wish, self.fats = wish, fats
        self.shares = self.used = self.more = range(len(fats))
        self.frame = Programme((False,) * len(fats)).with_rows(
            [Row(dict.fromkeys(self.shares, 1.0), low=100, high=100)]
        )

    def add_columns(self, number: int, *, whole: bool = False) -> range:
        first = self.frame.width
        self.frame = self.frame.with_columns(number, whole=whole)
        return range(first, first + number)

    def add_rows(self, rows: Iterable[Row]) -> None:
        self.frame = self.frame.with_rows(rows)

    def add_yes_or_no(self) -> None:
        """For each fat a column that must be 1 where it is in the blend."""
        self.used = self.add_columns(len(self.fats), whole=True)
        self.add_rows(Row({used: 1.0}, high=1) for used in self.used)
        self.add_rows(
            Row({share: 1.0, used: -100.0}, high=0)
            for share, used in zip(self.shares, self.used, strict=True)
        )

    def add_more_than_recipe(self) -> None:
        """For each fat a column of at least the points by which it exceeds the recipe.

        Both add up to 100, so what some fats have more the others have less: the sum is what differs.
        """
        self.more = self.add_columns(len(self.fats))
        recipe = whole(self.wish.recipe)
        self.add_rows(
            Row({share: 1.0, more: -1.0}, high=recipe.get(fat.name, 0.0))
            for fat, share, more in zip(self.fats, self.shares, self.more, strict=True)
        )

    def rows(self, limit: Limit) -> Iterator[Row]:
        if limit.kind is Kind.COUNT:
            yield Row(dict.fromkeys(self.used, 1.0), high=limit.value)
        elif limit.kind is Kind.MOVED:
            yield Row(dict.fromkeys(self.more, 1.0), high=limit.value)
        elif limit.kind is Kind.SMALLEST:
            for share, used in zip(self.shares, self.used, strict=True):
                yield Row({share: 1.0, used: -limit.value}, low=0)
        else:
            high = limit.side is Side.AT_MOST
            yield Row(
                self._measured(limit),
                -math.inf if high else limit.value,
                limit.value if high else math.inf,
            )

    def _measured(self, limit: Limit) -> dict[int, float]:
        if limit.kind is Kind.STOCK:
            return {
                index: (self.wish.batch_grams or 0.0) / 100
                for index, fat in enumerate(self.fats)
                if fat.name == limit.of
            }
        return {index: measured(limit, fat) / 100 for index, fat in enumerate(self.fats)}

    def cheapest(self) -> dict[int, float]:
        return {index: (fat.price or 0.0) / 100 for index, fat in enumerate(self.fats)}

    def nearest_profile(self) -> dict[int, float]:
        """A column for each part of the profile: at least the points by which the blend misses it."""
        target = self.wish.aim.target
        missed = self.add_columns(len(target))
        for column, (part, percent) in zip(missed, target.items(), strict=True):
            found = {index: part_of(fat.profile, part) / 100 for index, fat in enumerate(self.fats)}
            self.add_rows(
                [Row({**found, column: -1.0}, high=percent), Row({**found, column: 1.0}, low=percent)]
            )
        return dict.fromkeys(missed, 1.0)

    def most_expiring(self) -> dict[int, float]:
        """A column for each fat that goes off soon: the points of the blend that it gives."""
        expiring = [index for index, fat in enumerate(self.fats) if fat.expiring]
        given = self.add_columns(len(expiring))
        per_gram = 100 / (self.wish.batch_grams or math.inf)
        for column, index in zip(given, expiring, strict=True):
            self.add_rows(
                [
                    Row({column: 1.0, index: -1.0}, high=0),
                    Row({column: 1.0}, high=self.fats[index].expiring * per_gram),
                ]
            )
        return dict.fromkeys(given, -1.0)

    def nearest_recipe(self) -> dict[int, float]:
        return dict.fromkeys(self.more, 1.0)


_AIMS = {
    Goal.CHEAPEST: _Draft.cheapest,
    Goal.PROFILE: _Draft.nearest_profile,
    Goal.EXPIRING: _Draft.most_expiring,
    Goal.RECIPE: _Draft.nearest_recipe,
}
