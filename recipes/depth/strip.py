"""A strip that is drawn to scale: its stretches side by side, each a figure that opens."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from recipes.explain import Explanation

TO_BE_READ = 12.0  # per cent of the strip that a stretch takes at least to carry its figure


class Share(NamedTuple):
    """Per cent of the whole, how it is filled (templates/recipes/_hatches.html), and how it came about."""

    per_cent: float
    fill: str
    how: Explanation


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stretch. Places are in per cent of the strip, as SVG wants them; `label` stands over it."""

    x: str
    width: str
    middle: str
    fill: str
    label: str
    how: Explanation


@dataclass(frozen=True, slots=True)
class Strip:
    stretches: tuple[Stretch, ...]

    @property
    def words(self) -> str:
        """What is drawn, for those who do not see it."""
        return ", ".join(f"{one.how.name} {one.how.figure}" for one in self.stretches)


def lay_out(shares: Iterable[Share]) -> Strip:
    """The shares side by side from the left, over the whole width whatever they add up to."""
    known = [one for one in shares if one.per_cent > 0]
    total = sum(one.per_cent for one in known)
    stretches, x = [], 0.0
    for one in known:
        width = 100 * one.per_cent / total
        label = one.how.figure if width >= TO_BE_READ else ""
        middle = x + width / 2
        stretches.append(Stretch(_place(x), _place(width), _place(middle), one.fill, label, one.how))
        x += width
    return Strip(tuple(stretches))


def _place(per_cent: float) -> str:
    return f"{per_cent:.2f}%"
