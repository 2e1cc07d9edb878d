"""Wishes for blends, written down anew for another solver: GLPK, the GNU Linear Programming Kit 5.0."""

import math
from collections.abc import Mapping

import swiglpk as glpk

from shared.blend import Goal, Kind, Limit, Side, Wish
from tests.shared.blends import GROUPS, found_in


class Problem:
    """A problem of GLPK: columns are nil or more unless said otherwise."""

    def __init__(self) -> None:
        self.problem = glpk.glp_create_prob()
        glpk.glp_set_obj_dir(self.problem, glpk.GLP_MIN)

    def column(self, *, cost: float = 0.0, high: float = math.inf, whole: bool = False) -> int:
        column = glpk.glp_add_cols(self.problem, 1)
        bounds = glpk.GLP_LO if high == math.inf else glpk.GLP_DB if high else glpk.GLP_FX
        glpk.glp_set_col_bnds(self.problem, column, bounds, 0.0, high)
        glpk.glp_set_obj_coef(self.problem, column, cost)
        if whole:
            glpk.glp_set_col_kind(self.problem, column, glpk.GLP_IV)
        return column

    def row(self, terms: Mapping[int, float], kind: int, end: float) -> None:
        row = glpk.glp_add_rows(self.problem, 1)
        columns, values = glpk.intArray(len(terms) + 1), glpk.doubleArray(len(terms) + 1)
        for place, (column, value) in enumerate(terms.items(), start=1):
            columns[place], values[place] = column, value
        glpk.glp_set_mat_row(self.problem, row, len(terms), columns, values)
        glpk.glp_set_row_bnds(self.problem, row, kind, end, end)

    def least(self) -> float | None:
        """The least cost; None where nothing fits."""
        settings = glpk.glp_iocp()
        glpk.glp_init_iocp(settings)
        settings.presolve, settings.msg_lev = glpk.GLP_ON, glpk.GLP_MSG_OFF
        failed = glpk.glp_intopt(self.problem, settings)
        if failed in {glpk.GLP_ENOPFS, glpk.GLP_ENODFS}:
            return None
        assert failed == 0
        status = glpk.glp_mip_status(self.problem)
        assert status in {glpk.GLP_OPT, glpk.GLP_NOFEAS}
        return glpk.glp_mip_obj_val(self.problem) if status == glpk.GLP_OPT else None


def by_glpk(wish: Wish) -> float | None:
    """The aim at its best, below nil where more is better; None where no blend keeps the limits."""
    problem, goal = Problem(), wish.aim.goal
    cost = {one.name: (one.price or 0.0) / 100 for one in wish.fats} if goal is Goal.CHEAPEST else {}
    x = {one.name: problem.column(cost=cost.get(one.name, 0.0), high=100.0) for one in wish.fats}
    used = {name: problem.column(high=1.0, whole=True) for name in x}
    above = {name: problem.column(cost=0.5 * (goal is Goal.RECIPE)) for name in x}
    below = {name: problem.column(cost=0.5 * (goal is Goal.RECIPE)) for name in x}
    problem.row(dict.fromkeys(x.values(), 1.0), glpk.GLP_FX, 100.0)
    for one in wish.fats:
        name, share = one.name, x[one.name]
        problem.row({share: 1.0, used[name]: -100.0}, glpk.GLP_UP, 0.0)
        problem.row(
            {share: 1.0, above[name]: -1.0, below[name]: 1.0}, glpk.GLP_FX, wish.recipe.get(name, 0.0)
        )
        if wish.batch_grams is not None and one.on_hand is not None:
            problem.row({share: wish.batch_grams / 100}, glpk.GLP_UP, one.on_hand)
        if goal is Goal.EXPIRING:
            take = problem.column(cost=-1.0, high=100 * one.expiring / (wish.batch_grams or 1))
            problem.row({take: 1.0, share: -1.0}, glpk.GLP_UP, 0.0)
    gone = sum(share for name, share in wish.recipe.items() if name not in x)
    for limit in wish.limits:
        end = glpk.GLP_UP if limit.side is Side.AT_MOST else glpk.GLP_LO
        if limit.kind is Kind.SMALLEST:
            for name, share in x.items():
                problem.row({share: 1.0, used[name]: -limit.value}, end, 0.0)
        elif limit.kind is Kind.MOVED:
            both = [*above.values(), *below.values()]
            problem.row(dict.fromkeys(both, 0.5), end, limit.value - gone / 2)
        elif limit.kind is Kind.COUNT:
            problem.row(dict.fromkeys(used.values(), 1.0), end, limit.value)
        else:
            problem.row(_line(limit, wish, x), end, limit.value)
    for part, percent in wish.aim.target.items():
        limit = Limit(Kind.GROUP if part in GROUPS else Kind.ACID, Side.AT_LEAST, 0, part)
        miss = problem.column(cost=1.0)
        problem.row({**_line(limit, wish, x), miss: -1.0}, glpk.GLP_UP, percent)
        problem.row({**_line(limit, wish, x), miss: 1.0}, glpk.GLP_LO, percent)
    least = problem.least()
    return least if least is None or goal is not Goal.RECIPE else least + gone / 2


def _line(limit: Limit, wish: Wish, x: Mapping[str, int]) -> dict[int, float]:
    return {column: found_in(limit, wish, {name: 100.0}) / 100 for name, column in x.items()}
