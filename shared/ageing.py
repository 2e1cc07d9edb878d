"""How long a bar keeps before its fats turn rancid, in plain words.

Oxygen attacks the places between two double bonds. Relative rates of oleic, linoleic and linolenic acid are
about 1 : 12 : 25, as textbooks of fat chemistry give them for the uptake of oxygen (Gunstone; Frankel, Lipid
Oxidation), recalled; acids with more double bonds count as linolenic, saturated ones as nothing. The sum over
a blend is compared with that of fats whose soap the trade knows, and never shown as a figure of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import IntEnum
from functools import cache
from typing import Final

from shared.blend.acids import Group, group_shares, profile_of
from shared.explained import Statement
from shared.fats import fatty_acids, reference_fats
from shared.words import Phrase

RATES: Final = {0: 0.0, 1: 1.0, 2: 12.0, 3: 25.0}
"""Relative rate of oxidation by number of double bonds."""
_SOURCE: Final = Phrase(
    "relative rates of oxidation: textbooks of fat chemistry, recalled; "
    "the comparison: common practice, no source"
)
_KEEPS_LIKE, _TURNS_LIKE = "olive", "rapeseed_canola"
_HARDLY_FASTER: Final = 1.25
"""Times the rate of olive oil up to which a blend passes for its like: common practice, no source."""
_MUCH_SUPERFAT: Final = 8.0
"""% of superfat from which the fat that stays fat decides: common practice, no source."""


class Level(IntEnum):
    """From best to worst."""

    KEEPS_WELL = 0
    WITHIN_THE_YEAR = 1
    TURNS_EARLY = 2

    @property
    def label(self) -> Phrase:
        return _LABELS[self]


_LABELS: Final = {
    Level.KEEPS_WELL: Phrase("keeps well"),
    Level.WITHIN_THE_YEAR: Phrase("use within the year"),
    Level.TURNS_EARLY: Phrase("turns early"),
}


@dataclass(frozen=True, slots=True)
class OldLot:
    """A lot whose best-before may come before the bars are used."""

    name: str
    best_before: date


@dataclass(frozen=True, slots=True)
class Ageing:
    level: Level
    reasons: tuple[Statement, ...]


def ageing(
    profile: Mapping[str, float],
    *,
    superfat: float,
    antioxidant: str = "",
    lots: Iterable[OldLot] = (),
    ready_on: date | None = None,
) -> Ageing:
    """How well soap of a blend keeps, and why.

    ``profile`` is by shorthand in % of all fatty acids, ``superfat`` in %. ``antioxidant`` is its name, such
    as "Rosemary extract" or "Tocopherol", or "" without one. A lot past its best-before by ``ready_on``, the
    day the bars leave the rack, counts against the bar. Raises ValueError for a profile of nothing.
    """
    level, first = _of_blend(profile)
    reasons = [first]
    steps = 0
    if superfat > _MUCH_SUPERFAT and level is not Level.KEEPS_WELL:
        steps += 1
        reasons.append(
            Statement(
                Phrase("Much of the fat stays fat, and that turns before the soap does."),
                Phrase("%(superfat)s %% superfat", superfat=f"{superfat:.1f}"),
            )
        )
    old = min(_past(lots, ready_on), key=lambda lot: lot.best_before, default=None)
    if old:
        steps += 1
        reasons.append(
            Statement(
                Phrase("%(fat)s is past its best before the bars leave the rack.", fat=old.name),
                Phrase("best before %(day)s", day=old.best_before.isoformat()),
            )
        )
    if antioxidant and level + steps > Level.KEEPS_WELL:
        steps -= 1
        reasons.append(
            Statement(
                Phrase(
                    "%(what)s slows it down, but cannot mend a fat that has begun to turn.", what=antioxidant
                ),
                Phrase("an antioxidant is in the recipe"),
            )
        )
    return Ageing(Level(min(max(level + steps, 0), Level.TURNS_EARLY)), tuple(reasons))


def _past(lots: Iterable[OldLot], ready_on: date | None) -> list[OldLot]:
    return [lot for lot in lots if ready_on and lot.best_before < ready_on]


def _of_blend(profile: Mapping[str, float]) -> tuple[Level, Statement]:
    rate = oxidation_rate(profile)
    total = sum(profile.values())
    share = 100 * group_shares(profile)[Group.POLYUNSATURATED] / total
    because = Phrase("%(share)s %% of the fatty acids are polyunsaturated", share=f"{share:.0f}")
    if rate <= _HARDLY_FASTER * _known_rate(_KEEPS_LIKE):
        words = Phrase("Its fats take up oxygen hardly faster than olive oil, whose soap keeps for years.")
        return Level.KEEPS_WELL, Statement(words, because, _SOURCE)
    if rate <= _known_rate(_TURNS_LIKE):
        words = Phrase("Its fats take up oxygen faster than olive oil, but no faster than rapeseed oil.")
        return Level.WITHIN_THE_YEAR, Statement(words, because, _SOURCE)
    words = Phrase(
        "Its fats take up oxygen faster than rapeseed oil: orange spots and an old smell come early."
    )
    return Level.TURNS_EARLY, Statement(words, because, _SOURCE)


def oxidation_rate(profile: Mapping[str, float]) -> float:
    """Mean relative rate over a profile of any total, pure oleic acid being 1. Only for comparing."""
    total = sum(profile.values())
    if not total > 0 or min(profile.values()) < 0:
        raise ValueError("A composition needs shares of fatty acids above zero.")
    most = max(RATES)
    acids = fatty_acids()
    return sum(RATES[min(acids[acid].double_bonds, most)] * share for acid, share in profile.items()) / total


@cache
def _known_rate(key: str) -> float:
    return oxidation_rate(profile_of(reference_fats()[key]))
