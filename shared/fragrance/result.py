"""What is found of the fragrances in a bar."""

from __future__ import annotations

from dataclasses import dataclass

from shared.explained import Statement


@dataclass(frozen=True, slots=True)
class FragranceVerdict:
    """One fragrance of a bar: its share, and whether it keeps its own limit.

    ``most`` is the most grams of it with which it keeps that limit and what it brings keeps the limits of
    substances, all else in the bar staying as it is; None where nothing limits it.
    """

    name: str
    grams: float
    share: float
    limit: float | None
    passes: bool
    most: float | None

    def most_of(self, fats: float) -> float | None:
        """``most`` in % of so many grams of fats, which holds for every size of the batch."""
        return None if self.most is None else self.most / fats * 100


@dataclass(frozen=True, slots=True)
class SubstanceVerdict:
    """A restricted substance: its share of the bar from all fragrances, against the lowest limit stated."""

    name: str
    share: float
    limit: float
    passes: bool
    brought_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Allergen:
    """An allergen with its share of the bar from all fragrances, and whether a label has to name it."""

    name: str
    share: float
    named: bool


@dataclass(frozen=True, slots=True)
class Verdict:
    """All fragrances of a bar together.

    ``used_up`` adds up the shares in % of their limits, over the fragrances that have one. ``factor`` is by
    how much all fragrances together may at most be multiplied, the rest of the bar staying as it is; None
    where nothing limits them. ``refusals`` say what is over, ``watches`` what is not certain. Allergens
    stand in the order of their shares.
    """

    fragrances: tuple[FragranceVerdict, ...]
    substances: tuple[SubstanceVerdict, ...]
    allergens: tuple[Allergen, ...]
    used_up: float
    factor: float | None
    refusals: tuple[Statement, ...]
    watches: tuple[Statement, ...]

    @property
    def passes(self) -> bool:
        return not self.refusals
