"""A linear programme, some of its columns in whole numbers, as a bundle of rows; solved by HiGHS.

Every column is nil or more. Columns and rows are added by making a new programme.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from itertools import accumulate
from threading import Thread
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from shared.blend.wish import BlendError
from shared.words import Phrase

if TYPE_CHECKING:
    from highspy import Highs, HighsLp

SECONDS = 2.0
"""Longest that one programme in whole numbers is pondered; then the best found so far counts."""
BRIEFLY = 0.5
"""The same for what is nice to know besides."""
_SETTINGS: Mapping[str, bool | int | float | str] = {
    "output_flag": False,
    "threads": 1,
    # These programmes are small: most ways to guess at an answer beforehand take longer than the search.
    "mip_heuristic_effort": 0.0,
    "mip_heuristic_run_feasibility_jump": False,
    "mip_heuristic_run_rens": False,
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_root_reduced_cost": False,
    "mip_heuristic_run_zi_round": True,
    "mip_detect_symmetry": False,
    "mip_lp_solver": "simplex",
    "mip_rel_gap": 0.0,
}


def warm_up() -> None:
    """Load the solver in the background, so that the first search need not wait for it."""
    Thread(target=import_module, args=("highspy",), daemon=True).start()


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

    def least(self, objective: Mapping[int, float]) -> list[float] | None:
        """Values of the columns where the objective is least; None where no values fit all rows.

        Raises BlendError where whole numbers were sought for too long without any answer.
        """
        from highspy import HighsModelStatus, SolutionStatus

        solver = self._solved(objective, {"time_limit": SECONDS})
        if solver.getInfo().primal_solution_status == SolutionStatus.kSolutionStatusFeasible:
            return list(solver.getSolution().col_value)
        if solver.getModelStatus() == HighsModelStatus.kInfeasible:
            return None
        words = Phrase("That took too long. Choose fewer fats, or do not limit their number.")
        raise BlendError("fats", words)

    def least_if_quick(self, objective: Mapping[int, float], *, gap: float = 0.0) -> list[float] | None:
        """The same, but None too where it is not known before long.

        In whole numbers the search ends once the best cannot be better by more than ``gap``, as a share.
        """
        from highspy import HighsModelStatus

        solver = self._solved(objective, {"time_limit": BRIEFLY, "mip_rel_gap": gap})
        known = solver.getModelStatus() == HighsModelStatus.kOptimal
        return list(solver.getSolution().col_value) if known else None

    def fits(self) -> bool:
        """Whether any values fit all rows."""
        return self.least({}) is not None

    def duals(self, objective: Mapping[int, float]) -> list[float]:
        """For each row, by how much the least objective rises where the row's ends lie a unit higher.

        For a programme that has an answer; whole numbers are taken as any numbers.
        """
        solver = replace(self, whole=(False,) * self.width)._solved(objective)
        return list(solver.getSolution().row_dual)

    def _solved(
        self, objective: Mapping[int, float], settings: Mapping[str, float] = MappingProxyType({})
    ) -> Highs:
        from highspy import Highs, HighsModelStatus

        solver = Highs()  # type: ignore[no-untyped-call]
        for name, value in {**_SETTINGS, **settings}.items():
            solver.setOptionValue(name, value)
        solver.passModel(self._for_highs(objective))
        solver.run()
        if solver.getModelStatus() == HighsModelStatus.kSolveError:
            # Presolving is quick, but on rare occasions HiGHS then gives up on what it can solve without.
            solver.setOptionValue("presolve", "off")
            solver.run()
        return solver

    def _for_highs(self, objective: Mapping[int, float]) -> HighsLp:
        from highspy import HighsLp, HighsVarType, MatrixFormat

        programme = HighsLp()
        programme.num_col_, programme.num_row_ = self.width, len(self.rows)
        programme.col_cost_ = [objective.get(column, 0.0) for column in range(self.width)]
        programme.col_lower_, programme.col_upper_ = [0.0] * self.width, [math.inf] * self.width
        programme.row_lower_ = [row.low for row in self.rows]
        programme.row_upper_ = [row.high for row in self.rows]
        programme.integrality_ = [
            HighsVarType.kInteger if whole else HighsVarType.kContinuous for whole in self.whole
        ]
        table = programme.a_matrix_
        table.format_ = MatrixFormat.kRowwise
        table.start_ = list(accumulate((len(row.terms) for row in self.rows), initial=0))
        table.index_ = [column for row in self.rows for column in row.terms]
        table.value_ = [coefficient for row in self.rows for coefficient in row.terms.values()]
        return programme
