"""How brown the vanillin of a fragrance will make a bar.

Vanillin is % of the bar, darkening the drop of L* (CIELAB) from the first days until the colour has settled.
Until the workshop has readings of its own, the forecast is common practice without a source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from itertools import groupby
from typing import Final, NamedTuple

from shared.explained import COMMON_PRACTICE, Statement
from shared.tables import interpolate
from shared.words import Phrase

ENOUGH_BATCHES: Final = 3
"""Batches with vanillin from which the workshop's own readings decide."""

Points = tuple[tuple[float, float], ...]
"""Vanillin in % of the bar, and the darkening."""

# Common practice, no source.
_USUAL: Final[Points] = ((0.0, 0.0), (0.02, 8.0), (0.1, 25.0), (0.2, 40.0), (0.4, 50.0))
_USUAL_SPREAD: Final = 0.5
"""Of the darkening, either way."""
_LEAST_SPREAD: Final = 3.0
"""Of L*, either way: two bars of one batch and two photos of one bar differ by as much."""


class BrowningError(ValueError):
    """A figure that cannot be; ``field`` is "vanillin", "fragrance" or "readings"."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


class Shade(IntEnum):
    """From pale to dark; the darkening at which each begins is common practice, no source."""

    LIGHT = 0
    TAN = 1
    BROWN = 2
    DARK = 3

    @property
    def label(self) -> Phrase:
        return _LABELS[self]


_LABELS: Final = {
    Shade.LIGHT: Phrase("light"),
    Shade.TAN: Phrase("tan"),
    Shade.BROWN: Phrase("brown"),
    Shade.DARK: Phrase("dark brown"),
}
_BEGINS: Final = {Shade.DARK: 38.0, Shade.BROWN: 18.0, Shade.TAN: 6.0}
_WORDS: Final = {
    Shade.LIGHT: Phrase("It stays light."),
    Shade.TAN: Phrase("It turns tan over days to weeks."),
    Shade.BROWN: Phrase("It turns brown over days to weeks."),
    Shade.DARK: Phrase("It turns dark brown over days to weeks."),
}


class Fragrance(NamedTuple):
    """One fragrance of a portion: vanillin in % of the fragrance, and the fragrance in % of the bar."""

    vanillin: float
    share: float


class Browned(NamedTuple):
    """What became of a portion of a batch: vanillin in % of the bar, and how far L* has dropped."""

    batch: str
    vanillin: float
    darkening: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """How far L* is going to drop: likely, and between which bounds; the shades that belong to them.

    ``batches`` is the number of the workshop's own batches with vanillin that taught it, 0 where they are
    too few; ``verdict.source`` says whether they decide.
    """

    darkening: float
    low: float
    high: float
    batches: int
    verdict: Statement

    @property
    def shade(self) -> Shade:
        return shade_of(self.darkening)


def vanillin_in_bar(fragrances: Iterable[Fragrance]) -> float:
    """Vanillin in % of the bar. Raises BrowningError for a share outside 0 to 100 %."""
    total = share = 0.0
    for fragrance in fragrances:
        if not 0 <= fragrance.vanillin <= 100:
            words = Phrase("The vanillin in a fragrance must lie between 0 and 100 %.")
            raise BrowningError("vanillin", words)
        if not 0 <= fragrance.share <= 100 - share:
            words = Phrase("The fragrance must lie between 0 and 100 % of the bar.")
            raise BrowningError("fragrance", words)
        share += fragrance.share
        total += fragrance.vanillin * fragrance.share / 100
    return total


def shade_of(darkening: float) -> Shade:
    """The shade that a soap turns whose L* drops by so much, having been light."""
    return next((shade for shade, begins in _BEGINS.items() if darkening >= begins), Shade.LIGHT)


def forecast(vanillin: float, readings: Iterable[Browned] = ()) -> Forecast:
    """What so much vanillin, in % of the bar, does to its colour.

    ``readings`` are the workshop's own, of portions whose colour has settled. From three batches with
    vanillin on they decide: straight lines between the points of their monotone fit, either way twice the
    root mean square by which the others miss each of them. Beyond the most vanillin among them common
    practice decides, yet never for less. Raises BrowningError for a figure that cannot be.
    """
    if not 0 <= vanillin <= 100:
        raise BrowningError("vanillin", Phrase("The vanillin in the bar must lie between 0 and 100 %."))
    taught = [reading for reading in map(_checked, readings) if reading.vanillin > 0]
    batches = len({reading.batch for reading in taught})
    if batches < ENOUGH_BATCHES:
        taught, batches = [], 0
    fit = monotone_fit(taught)
    beyond = vanillin > fit[-1][0]
    darkening = _read(fit, vanillin)
    spread = 0.0
    if vanillin:
        spread = _USUAL_SPREAD * darkening if beyond else _missed_by(taught)
    low, high = max(darkening - spread, 0.0), darkening + spread
    verdict = Statement(
        _WORDS[shade_of(darkening)],
        _because(vanillin, shade_of(low), shade_of(high)),
        _source(batches if vanillin else 0, beyond=beyond),
    )
    return Forecast(darkening, low, high, batches, verdict)


def _checked(reading: Browned) -> Browned:
    if not (0 <= reading.vanillin <= 100 and -100 <= reading.darkening <= 100):
        words = Phrase(
            "A reading of batch %(batch)s cannot be: vanillin must lie between 0 and 100 %%, and L* drop by "
            "no more than 100.",
            batch=reading.batch,
        )
        raise BrowningError("readings", words)
    return reading


def _because(vanillin: float, lightest: Shade, darkest: Shade) -> Phrase:
    figure = f"{vanillin:.2g}"
    if lightest is darkest:
        return Phrase("%(vanillin)s %% vanillin in the bar", vanillin=figure)
    return Phrase(
        "%(vanillin)s %% vanillin in the bar; anything from %(lightest)s to %(darkest)s may come of it",
        vanillin=figure,
        lightest=lightest.label,
        darkest=darkest.label,
    )


def _source(batches: int, *, beyond: bool) -> Phrase:
    if not batches:
        return COMMON_PRACTICE
    if beyond:
        return Phrase(
            "more vanillin than in any of your own %(batches)s batches; common practice, no source",
            batches=batches,
        )
    return Phrase("the colours of %(batches)s batches of your own", batches=batches)


# What the readings teach


def monotone_fit(readings: Sequence[Browned]) -> Points:
    """The darkening that never falls with more vanillin and lies nearest to the readings by least squares.

    Isotonic regression by pooling adjacent violators (Ayer, Brunk and others, Annals of Mathematical
    Statistics 26, 1955, recalled), held at nil without vanillin and never below. Sorted by vanillin.
    """
    blocks: list[tuple[float, list[float], int]] = []  # sum of darkening, amounts of vanillin, readings
    for vanillin, group in groupby(sorted(readings, key=_vanillin), key=_vanillin):
        darkening = [reading.darkening for reading in group]
        total, amounts, count = sum(darkening), [vanillin], len(darkening)
        while blocks and blocks[-1][0] / blocks[-1][2] >= total / count:
            before = blocks.pop()
            total, amounts, count = before[0] + total, before[1] + amounts, before[2] + count
        blocks.append((total, amounts, count))
    fitted = [(amount, max(total / count, 0.0)) for total, amounts, count in blocks for amount in amounts]
    return ((0.0, 0.0), *fitted)


def _vanillin(reading: Browned) -> float:
    return reading.vanillin


def _read(fit: Points, vanillin: float) -> float:
    most, darkening = fit[-1]
    if vanillin <= most:
        return interpolate(fit, vanillin)
    return max(darkening, interpolate(_USUAL, vanillin))


def _missed_by(taught: Sequence[Browned]) -> float:
    """Twice the root mean square of what the other readings miss each reading by."""
    missed = [
        reading.darkening - _read(monotone_fit([*taught[:index], *taught[index + 1 :]]), reading.vanillin)
        for index, reading in enumerate(taught)
    ]
    return max(2 * math.hypot(*missed) / math.sqrt(len(missed)), _LEAST_SPREAD)


# Side by side


def bleeding(portions: Mapping[str, Forecast]) -> tuple[Statement, ...]:
    """A warning for each pale portion that shares a mould with one that turns brown, by name."""
    darkest = max(portions, key=lambda name: portions[name].darkening, default="")
    if not darkest or portions[darkest].shade < Shade.BROWN:
        return ()
    return tuple(
        Statement(
            Phrase(
                "%(pale)s may turn brown at its edges where it touches %(brown)s.", pale=name, brown=darkest
            ),
            Phrase("vanillin moves through fresh soap for weeks"),
        )
        for name, portion in portions.items()
        if portion.shade < Shade.BROWN
    )
