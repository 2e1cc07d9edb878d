"""How dense a batter is, learned from how high earlier pours stood. Densities are g/mL.

Whisking and the saponification itself change what the parts of a batter come to, and each maker whisks in
another way, so past pours say it better than the parts do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from shared.cuts import HEAVIEST, LIGHTEST
from shared.explained import Statement
from shared.words import Phrase

USUAL: Final = 1.0
"""g/mL of a batter of which no recipe is known: oils at 0.91 g/mL with soda lye of 33 % come to 1.00."""
PRIOR_SPREAD: Final = 0.03
"""g/mL, one standard deviation: how far a batter lies from what its parts come to. Common practice, no
source."""
READING_SPREAD: Final = 0.02
"""g/mL, one standard deviation of a single pour: a millimetre in a bar of 60 is 0.016. Common practice, no
source."""
_READINGS_WORTH: Final = 3
"""As many readings the spread above is worth against that of the pours themselves. Common practice, no
source."""
_SOURCE: Final = Phrase(
    "Normal mean with known variance: Gelman and others, Bayesian Data Analysis, 2.5, from memory. That the "
    "parts are right to %(prior)s g/mL and a pour to %(reading)s g/mL is common practice, no source.",
    prior=PRIOR_SPREAD,
    reading=READING_SPREAD,
)


class DensityError(ValueError):
    """A density that no batter has; ``field`` is "readings" or "prior"."""

    def __init__(self, field: str, message: Phrase) -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, slots=True)
class Learned:
    """A density in g/mL and how far the next pour may lie from it, as one standard deviation in g/mL.

    ``number`` is how many pours it was learned from; ``source`` says it in words.
    """

    mean: float
    spread: float
    number: int
    source: Statement


def reading(grams: float, volume_ml: float) -> float:
    """The density of a pour in g/mL, by its weight and the volume it took. Raises DensityError."""
    if not volume_ml > 0:
        raise DensityError("readings", Phrase("The pour must have taken some room."))
    return _checked("readings", grams / volume_ml)


def learned(readings: Sequence[float], prior: float) -> Learned:
    """The density to reckon with: that of the parts, moved by the pours so far, all in g/mL.

    With the variances s2 of a reading and t2 of the prior, n readings of the mean m give
    (prior / t2 + n m / s2) / (1 / t2 + n / s2), with the variance 1 / (1 / t2 + n / s2); the next pour
    strays from that by s2 more. s2 is that of the readings, taken together with READING_SPREAD, so that two
    that agree by luck do not count as certain. Normal mean with known variance: Gelman and others, Bayesian
    Data Analysis (3rd edition), 2.5, recalled. Raises DensityError outside 0.1 to 3 g/mL.
    """
    _checked("prior", prior)
    for one in readings:
        _checked("readings", one)
    number, variance = len(readings), _variance(readings)
    weight_of_prior = 1 / PRIOR_SPREAD**2
    weight = weight_of_prior + number / variance
    mean = (prior * weight_of_prior + math.fsum(readings) / variance) / weight
    return Learned(mean, math.sqrt(1 / weight + variance), number, _said(number, prior))


def _variance(readings: Sequence[float]) -> float:
    """Of a single reading: as the readings have it, together with what is usual."""
    usual = _READINGS_WORTH * READING_SPREAD**2
    if not readings:
        return READING_SPREAD**2
    mean = math.fsum(readings) / len(readings)
    squares = math.fsum((one - mean) ** 2 for one in readings)
    return (usual + squares) / (_READINGS_WORTH + len(readings) - 1)


def _said(number: int, prior: float) -> Statement:
    because = Phrase("Its parts come to %(prior)s g/mL.", prior=f"{prior:.2f}")
    if not number:
        return Statement(
            Phrase("No pour has told yet: reckoned from the parts of the batter alone."), because, _SOURCE
        )
    text = Phrase("From earlier pours, %(number)s in all, and from the parts of the batter.", number=number)
    return Statement(text, because, _SOURCE)


def _checked(field: str, density: float) -> float:
    if not LIGHTEST <= density <= HEAVIEST:
        words = Phrase(
            "No batter weighs %(density)s g to the mL: look at the weight and the height again.",
            density=f"{density:.3g}",
        )
        raise DensityError(field, words)
    return density
