"""The distribution of a sum of independent rectangular and triangular terms.

The sum's characteristic function is the product of those of its terms, and its distribution function
follows by inversion (Gil-Pelaez, Biometrika 38 (1951) 481-482). Two facts make it exact and cheap here:

* A sum of bounded terms is bounded, so the inversion integral turns into a Fourier series free of aliasing.
* The widest term W is left out of the series and put in exactly: with Y the rest of the sum,
  P(W + Y < s) = E[F(s - Y)], and the distribution function F of a rectangle or triangle is made of
  truncated powers (s - knot - Y)+ and (s - knot - Y)+^2. Their series fall off as k^-2 and k^-3 times the
  characteristic function of Y, so that a few dozen points serve even for one single or one dominant term.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from statistics import NormalDist
from typing import NamedTuple

_TOLERANCE = 2e-6
"""Bound on the truncation error of a chance."""
_BLOCK = 8
"""Points of the series between two looks at what is left of it."""
_NEXT_TO_NOTHING = 1e-9
"""Share of the widest term's width."""
_SLIVER = 1e-5
"""A mode on the very edge of its range is moved inwards by this share of the width."""


_NORMAL = NormalDist()
_EDGE = 1e-12
_CLOSE_ENOUGH = 0.01
"""Of a standard uncertainty: from here one more secant step leaves an error of some thousandths."""
_MAX_STEPS = 20


class Term(NamedTuple):
    """One term of a sum, about its own mean.

    A rectangle reaches ``below`` and ``above`` (equal) from its middle, a triangle from its mode.
    The unit is that of the sum.
    """

    below: float
    above: float
    rectangular: bool

    @classmethod
    def rectangle(cls, half_width: float) -> Term:
        return cls(half_width, half_width, True)

    @classmethod
    def triangle(cls, below: float, above: float) -> Term:
        sliver = _SLIVER * (below + above)
        return cls(max(below, sliver), max(above, sliver), False)

    @property
    def width(self) -> float:
        return self.below + self.above

    @property
    def variance(self) -> float:
        """JCGM 100:2008 (GUM) 4.3.7 for the rectangle; textbook variance of the triangle."""
        if self.rectangular:
            return self.below * self.below / 3
        return (self.below * self.below + self.below * self.above + self.above * self.above) / 18

    @property
    def mean_above_mode(self) -> float:
        return (self.above - self.below) / 3

    @property
    def peak(self) -> float:
        """Largest density."""
        return (1 if self.rectangular else 2) / self.width

    def scaled(self, factor: float) -> Term:
        """The term times a positive factor."""
        return Term(self.below * factor, self.above * factor, self.rectangular)

    def characteristic(self, t: float) -> complex:
        """E[exp(i t X)] of a triangle for t > 0, with X counted from the mean."""
        mode = -self.mean_above_mode
        body = self.below * _ramp(-t * self.below) + self.above * _ramp(t * self.above)
        return complex(math.cos(t * mode), math.sin(t * mode)) * body / self.width

    def envelope(self, t: float) -> float:
        """A falling bound on the modulus of the characteristic function, for t > 0.

        From the total variation of the density and, for a triangle, of its slope.
        """
        if self.rectangular:
            return min(1.0, 1 / (t * self.below))
        jump = 4 / (t * self.width)
        return min(1.0, jump, jump / t * (1 / self.below + 1 / self.above))


def _ramp(s: float) -> complex:
    """Characteristic function of the density 2 (1 - v) on 0..1."""
    if abs(s) < 1e-3:
        return complex(1 - s * s / 12, s / 3)
    return 2 * complex(1 - math.cos(s), s - math.sin(s)) / (s * s)


def chance_below(threshold: float, terms: Iterable[Term]) -> float:
    """Chance that the sum of independent terms, each counted from its own mean, is below the threshold.

    Accurate to about 2e-6. Terms next to nothing beside the widest are left out; a sum without any is
    exactly zero.
    """
    every = list(terms)
    widest = max(every, key=lambda term: term.variance, default=Term.rectangle(0.0))
    live = [term for term in every if term.width > _NEXT_TO_NOTHING * widest.width]
    high = sum(term.above - term.mean_above_mode for term in live)
    if threshold >= high or threshold <= high - sum(term.width for term in live):
        return float(threshold > 0)
    live.remove(widest)
    rest = _Rest(live, widest.peak)
    invert = _rectangle_chance if widest.rectangular else _triangle_chance
    return min(max(invert(threshold, widest, rest), 0.0), 1.0)


def _rectangle_chance(threshold: float, term: Term, rest: _Rest) -> float:
    difference = rest.excess(threshold + term.above) - rest.excess(threshold - term.below)
    return difference / term.width


def _triangle_chance(threshold: float, term: Term, rest: _Rest) -> float:
    from_mode = threshold + term.mean_above_mode
    rise = rest.squared_excess(from_mode + term.below) - (at_mode := rest.squared_excess(from_mode))
    fall = at_mode - rest.squared_excess(from_mode - term.above)
    return (rise / term.below - fall / term.above) / term.width


class _Rest:
    """The sum Y of all terms but the widest: its support, its variance and its truncated moments."""

    def __init__(self, terms: Sequence[Term], peak: float) -> None:
        self._high = sum(term.above - term.mean_above_mode for term in terms)
        self._low = self._high - sum(term.width for term in terms)
        self._variance = sum(term.variance for term in terms)
        self._span = self._high - self._low
        self._series = list(self._points(terms, peak)) if terms else []

    def excess(self, y: float) -> float:
        """E[(y - Y)+], from the Fourier series of the absolute value on one span to either side."""
        if not self._low < y < self._high:
            return max(y, 0.0)
        span = self._span
        waves = sum((math.cos(t * y) * re + math.sin(t * y) * im) / (n * n) for n, t, re, im in self._series)
        return (y + span / 2 - 4 * span / math.pi**2 * waves) / 2

    def squared_excess(self, y: float) -> float:
        """E[((y - Y)+)^2], from the Fourier series of v |v| on one span to either side."""
        if y <= self._low:
            return 0.0
        if y >= self._high:
            return y * y + self._variance
        span = self._span
        waves = sum((math.sin(t * y) * re - math.cos(t * y) * im) / n**3 for n, t, re, im in self._series)
        return (y * y + self._variance + span * y - 8 * span * span / math.pi**3 * waves) / 2

    def _points(self, terms: Sequence[Term], peak: float) -> Iterator[tuple[int, float, float, float]]:
        """Odd numbers n, t = n pi / span, and E[exp(i t Y)] there, until no more is needed.

        What is left out of P(W + Y < s) is at most 2 span peak envelope / (pi^2 n).
        """
        half_widths = [term.below for term in terms if term.rectangular]
        triangles = [term for term in terms if not term.rectangular]
        n = -1
        while True:
            n += 2
            t = n * math.pi / self._span
            sincs = 1.0
            for half_width in half_widths:
                angle = t * half_width
                sincs *= math.sin(angle) / angle
            value = complex(sincs)
            for term in triangles:
                value *= term.characteristic(t)
            yield n, t, value.real, value.imag
            if n % (2 * _BLOCK) == 2 * _BLOCK - 1:
                envelope = math.prod(term.envelope(t) for term in terms)
                if 2 * self._span * peak * envelope < _TOLERANCE * math.pi**2 * n:
                    return


def quantile(
    distribution: Callable[[float], float],
    chance: float,
    *,
    guess: float,
    spread: float,
    low: float,
    high: float,
) -> float:
    """The value at which a rising distribution function reaches ``chance``.

    ``guess`` and ``spread`` are mean and standard uncertainty; ``low`` and ``high`` enclose the answer.
    Secant steps on the normal scale, where the distribution of a sum is nearly a straight line;
    a step that leaves the enclosure is replaced by halving it.
    """
    wanted = _NORMAL.inv_cdf(chance)
    value, slope = guess + wanted * spread, 1 / spread
    before: tuple[float, float] | None = None
    for _ in range(_MAX_STEPS):
        if not low < value < high:
            value = (low + high) / 2
        score = _NORMAL.inv_cdf(min(max(distribution(value), _EDGE), 1 - _EDGE))
        low, high = (value, high) if score < wanted else (low, value)
        if before and score != before[1]:
            slope = (score - before[1]) / (value - before[0])
        before = value, score
        value += (wanted - score) / slope
        if abs(score - wanted) < _CLOSE_ENOUGH:
            break
    return min(max(value, low), high)
