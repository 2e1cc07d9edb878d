"""A linear programme, some of its columns in whole numbers, as a bundle of rows; solved by HiGHS.

Every column is nil or more. Columns and rows are added by making a new programme.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, NamedTuple

from shared.blend.wish import BlendError
from shared.words import Phrase

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

SECONDS = 2.0
"""Longest that one programme in whole numbers is pondered; then the best found so far counts."""
_INFEASIBLE: Final = 2
"""What ``scipy.optimize.milp`` answers where nothing fits."""


class Row(NamedTuple):
    """low <= sum of coefficient x column <= high."""

    terms: Mapping[int, float]
    low: float = -math.inf
    high: float = math.inf

    def slack(self, values: Sequence[float]) -> float:
        """How far from the nearer end; below nil where it is broken."""
        value = sum(coefficient * values[column] for column, coefficient in self.terms.items())
        return min(value - self.low, self.high - value)


@dataclass(frozen=True, slots=True)
class Programme:
    """``whole`` tells of each column whether it must be a whole number."""

    whole: tuple[bool, ...]
    rows: tuple[Row, ...] = ()

    @property
    def width(self) -> int:
        return len(self.whole)

    def with_columns(self, number: int, *, whole: bool = False) -> Programme:
        return replace(self, whole=self.whole + (whole,) * number)

    def with_rows(self, rows: Iterable[Row]) -> Programme:
        return replace(self, rows=(*self.rows, *rows))

    def least(self, objective: Mapping[int, float], *, gap: float = 0.0) -> list[float] | None:
        """Values of the columns where the objective is least; None where no values fit all rows.

        In whole numbers the search ends once the best cannot be better by more than ``gap``, as a share.
        Raises BlendError where whole numbers were sought for too long without any answer.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp

        low, high = [row.low for row in self.rows], [row.high for row in self.rows]
        rows = LinearConstraint(self._table([row.terms for row in self.rows]), low, high)
        # Presolving is quick, but on rare occasions HiGHS then gives up on what it can solve without.
        for presolve in (True, False):
            found = milp(
                self._table([objective])[0],
                integrality=[int(whole) for whole in self.whole],
                bounds=Bounds(0, math.inf),
                constraints=rows,
                options={"time_limit": SECONDS, "mip_rel_gap": gap, "presolve": presolve},
            )
            if found.x is not None:
                return [float(value) for value in found.x]
            if found.status == _INFEASIBLE:
                return None
        words = Phrase("That took too long. Choose fewer fats, or do not limit their number.")
        raise BlendError("fats", words)

    def fits(self) -> bool:
        """Whether any values fit all rows."""
        return self.least({}) is not None

    def duals(self, objective: Mapping[int, float]) -> list[float]:
        """For each row, by how much the least objective rises where the row's ends lie a unit higher.

        For a programme that has an answer; whole numbers are taken as any numbers.
        """
        from scipy.optimize import linprog

        tops = [index for index, row in enumerate(self.rows) if row.high < math.inf]
        floors = [index for index, row in enumerate(self.rows) if row.low > -math.inf]
        table = self._table([row.terms for row in self.rows])
        found = linprog(
            self._table([objective])[0],
            A_ub=[*table[tops], *-table[floors]],
            b_ub=[*(self.rows[row].high for row in tops), *(-self.rows[row].low for row in floors)],
            method="highs",
        )
        marginals = [float(marginal) for marginal in found.ineqlin.marginals]
        prices = [0.0] * len(self.rows)
        for row, marginal in zip(tops, marginals, strict=False):
            prices[row] += marginal
        for row, marginal in zip(floors, marginals[len(tops) :], strict=True):
            prices[row] -= marginal
        return prices

    def _table(self, lines: Sequence[Mapping[int, float]]) -> NDArray[float64]:
        import numpy

        table = numpy.zeros((len(lines), self.width))
        for line, terms in zip(table, lines, strict=True):
            line[list(terms)] = list(terms.values())
        return table
