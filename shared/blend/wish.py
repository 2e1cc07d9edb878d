"""What a maker may ask of a blend: the fats to choose from, the limits, and the aim.

Shares are % of the weight of all fats, fatty acids % of all fatty acids, weights grams, prices money per kg,
iodine values g I2 per 100 g, saponification values mg KOH per g. No limit is built in: all are the maker's.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from shared.blend.acids import Group, group_shares
from shared.fats import fatty_acids
from shared.words import Phrase


class BlendError(ValueError):
    """A wish that makes no sense; ``field`` says which part of it.

    ``field`` is one of "fats", "limits", "aim", "batch_grams", "recipe", "step", "near", "apart", "most",
    and for a swap also "missing", "superfat" and "alkalis". Limits that merely clash are no error.
    """

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, slots=True)
class Candidate:
    """A fat to choose from. None means not known, but for ``on_hand``, where it means as much as one likes.

    ``profile`` is by shorthand such as "C18:1" and may be empty. ``expiring`` is how much of what is on hand
    goes off soon; what is soon the caller decides. ``label`` is its name in the list of ingredients.
    """

    name: str
    profile: Mapping[str, float] = field(default_factory=dict)
    iodine: float | None = None
    sap: float | None = None
    price: float | None = None
    on_hand: float | None = None
    expiring: float = 0.0
    palm: bool = False
    animal: bool = False
    wax: bool = False
    label: str = ""


class Kind(StrEnum):
    """What a limit is about, and what ``of`` and ``value`` mean for it."""

    GROUP = "group"
    """share of a group of acids; ``of`` is a Group"""
    ACID = "acid"
    """share of one acid; ``of`` is its shorthand"""
    FAT = "fat"
    """share of one fat; ``of`` is its name"""
    IODINE = "iodine"
    COST = "cost"
    """money per kg of fats"""
    PALM = "palm"
    """share of fats from palm; nil for none"""
    ANIMAL = "animal"
    """share of animal fats; nil for none"""
    MOVED = "moved"
    """points of the blend that differ from the wish's recipe, at most"""
    COUNT = "count"
    """number of fats, at most"""
    SMALLEST = "smallest"
    """share that each fat in the blend has at least"""
    STOCK = "stock"
    """grams of one fat on hand; made from ``Candidate.on_hand`` when the wish has ``batch_grams``"""


class Side(StrEnum):
    AT_LEAST = "at_least"
    AT_MOST = "at_most"


@dataclass(frozen=True, slots=True)
class Limit:
    """One side of a range: "at most 20 % Coconut oil"."""

    kind: Kind
    side: Side
    value: float
    of: str = ""

    @property
    def words(self) -> Phrase:
        if self.kind is Kind.COUNT and self.value == 1:
            return Phrase("at most 1 fat")
        if self.kind in _NONE and not self.value:
            return _NONE[self.kind]
        value = f"{self.value:{_PLACES.get(self.kind, 'g')}}"
        return Phrase(_PATTERNS[self.kind, self.side], value=value, what=self._what)

    @property
    def _what(self) -> str:
        if self.kind is Kind.GROUP:
            return Group(self.of).label
        return (
            Phrase("%(name)s acid", name=fatty_acids()[self.of].name) if self.kind is Kind.ACID else self.of
        )

    def loosened(self, by: float) -> float:
        """Its value, so much milder, within what makes sense for its kind."""
        if self.side is Side.AT_LEAST:
            return max(self.value - by, 0.0)
        return min(self.value + by, HIGHEST[self.kind])


_PATTERNS: Mapping[tuple[Kind, Side], Phrase] = {
    **dict.fromkeys(
        [(kind, Side.AT_LEAST) for kind in (Kind.GROUP, Kind.ACID, Kind.FAT)],
        Phrase("at least %(value)s %% %(what)s"),
    ),
    **dict.fromkeys(
        [(kind, Side.AT_MOST) for kind in (Kind.GROUP, Kind.ACID, Kind.FAT)],
        Phrase("at most %(value)s %% %(what)s"),
    ),
    (Kind.IODINE, Side.AT_LEAST): Phrase("iodine value at least %(value)s"),
    (Kind.IODINE, Side.AT_MOST): Phrase("iodine value at most %(value)s"),
    (Kind.COST, Side.AT_LEAST): Phrase("cost at least %(value)s a kg"),
    (Kind.COST, Side.AT_MOST): Phrase("cost at most %(value)s a kg"),
    (Kind.PALM, Side.AT_LEAST): Phrase("at least %(value)s %% palm"),
    (Kind.PALM, Side.AT_MOST): Phrase("at most %(value)s %% palm"),
    (Kind.ANIMAL, Side.AT_LEAST): Phrase("at least %(value)s %% animal fat"),
    (Kind.ANIMAL, Side.AT_MOST): Phrase("at most %(value)s %% animal fat"),
    (Kind.MOVED, Side.AT_MOST): Phrase("no more than %(value)s %% changed from the recipe"),
    (Kind.COUNT, Side.AT_MOST): Phrase("at most %(value)s fats"),
    (Kind.SMALLEST, Side.AT_LEAST): Phrase("at least %(value)s %% of each fat used"),
    (Kind.STOCK, Side.AT_MOST): Phrase("%(value)s g %(what)s on hand"),
}
_NONE = {Kind.PALM: Phrase("no palm"), Kind.ANIMAL: Phrase("no animal fat")}
_PLACES = {Kind.COST: ".2f", Kind.STOCK: ".0f"}

HIGHEST: Mapping[Kind, float] = {
    **dict.fromkeys(Kind, 100.0),
    Kind.IODINE: 400.0,  # pure alpha-linolenic acid's triglyceride has 262
    Kind.COST: 1e6,
    Kind.COUNT: 1000.0,
    Kind.STOCK: 1e9,
}
"""Highest value that makes sense for a limit of each kind; the lowest is nil."""


class Goal(StrEnum):
    """What is best, and what the value of an aim means."""

    CHEAPEST = "cheapest"
    """least money per kg of fats"""
    PROFILE = "profile"
    """nearest to a profile: points by which the named groups and acids miss it, added up"""
    EXPIRING = "expiring"
    """most of the blend from what goes off soon, in %"""
    RECIPE = "recipe"
    """nearest to the wish's recipe: % of the blend that differs from it"""


@dataclass(frozen=True, slots=True)
class Aim:
    """``target`` is for PROFILE only: per cent by Group or by acid's shorthand."""

    goal: Goal
    target: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Wish:
    """All that is asked. ``batch_grams`` is the weight of all fats; with it stock limits the shares.

    ``recipe`` is shares by name of fat, for the aim RECIPE and the limit MOVED; its fats need not all be
    among ``fats``. ``step`` is the step that shares are rounded to. An alternative reaches the aim within
    ``near`` (% of the cost, or points) and differs from every other by ``apart`` % of the blend or more;
    ``most`` of them are looked for.
    """

    fats: tuple[Candidate, ...]
    aim: Aim
    limits: tuple[Limit, ...] = ()
    batch_grams: float | None = None
    recipe: Mapping[str, float] = field(default_factory=dict)
    step: float = 0.5
    near: float = 3.0
    apart: float = 10.0
    most: int = 4


def part_of(profile: Mapping[str, float], part: str) -> float:
    """Per cent of a group, or of a single acid, in a profile."""
    if part in tuple(Group):
        return group_shares(profile)[Group(part)]
    return profile.get(part, 0.0)


def whole(recipe: Mapping[str, float]) -> dict[str, float]:
    """The shares of a recipe, made to add up to exactly 100 %."""
    total = sum(recipe.values())
    return {name: 100 * share / total for name, share in recipe.items()}


def measured(limit: Limit, fat: Candidate) -> float:
    """What one kind of limit finds in a pure fat; a blend has the mean, weighted by its shares."""
    return MEASURES[limit.kind](limit, fat)


MEASURES: Mapping[Kind, Callable[[Limit, Candidate], float]] = {
    Kind.GROUP: lambda limit, fat: part_of(fat.profile, limit.of),
    Kind.ACID: lambda limit, fat: part_of(fat.profile, limit.of),
    Kind.FAT: lambda limit, fat: 100.0 * (fat.name == limit.of),
    Kind.IODINE: lambda _, fat: fat.iodine or 0.0,
    Kind.COST: lambda _, fat: fat.price or 0.0,
    Kind.PALM: lambda _, fat: 100.0 * fat.palm,
    Kind.ANIMAL: lambda _, fat: 100.0 * fat.animal,
}
