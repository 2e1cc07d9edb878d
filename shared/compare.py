"""Two recipes side by side: what stayed, what changed, what came and what went."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Change(StrEnum):
    SAME = "same"
    CHANGED = "changed"
    GAINED = "gained"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a recipe: a figure with its unit, or words.

    ``part`` is the part of the recipe that it belongs to, such as "fat". Part and name tell lines apart.
    """

    part: str
    name: str
    value: Decimal | str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A line of both recipes. ``before`` or ``after`` is None where it has no such line.

    ``difference`` is after less before, a missing figure counting as nil; None between words or units.
    """

    part: str
    name: str
    before: Line | None
    after: Line | None
    difference: Decimal | None
    change: Change


def compare(before: Sequence[Line], after: Sequence[Line]) -> tuple[Row, ...]:
    """The lines of two recipes in one list, part by part, each part in the order of the later recipe.

    What only the earlier has comes at the end of its part. Raises ValueError where one list has a line
    twice or a figure that is no number.
    """
    old, new = _by_name(before), _by_name(after)
    keys = list(dict.fromkeys([*new, *old]))
    parts = list(dict.fromkeys(part for part, _ in keys))
    keys.sort(key=lambda key: parts.index(key[0]))
    return tuple(_row(key, old.get(key), new.get(key)) for key in keys)


def _by_name(lines: Sequence[Line]) -> dict[tuple[str, str], Line]:
    named: dict[tuple[str, str], Line] = {}
    for line in lines:
        if (line.part, line.name) in named:
            raise ValueError(f"{line.name} stands twice among the lines of {line.part}.")
        if isinstance(line.value, Decimal) and not line.value.is_finite():
            raise ValueError(f"{line.name}: not a figure.")
        named[line.part, line.name] = line
    return named


def _row(key: tuple[str, str], before: Line | None, after: Line | None) -> Row:
    if before is None:
        change = Change.GAINED
    elif after is None:
        change = Change.LOST
    else:
        same = (before.value, before.unit) == (after.value, after.unit)
        change = Change.SAME if same else Change.CHANGED
    return Row(*key, before, after, _difference(before, after), change)


def _difference(before: Line | None, after: Line | None) -> Decimal | None:
    units = {line.unit for line in (before, after) if line}
    old = before.value if before else Decimal(0)
    new = after.value if after else Decimal(0)
    if len(units) > 1 or isinstance(old, str) or isinstance(new, str):
        return None
    return new - old
