"""The blend finder against other ways to the same answer: another solver, all corners, all blends of a grid.

The other solver is GLPK, the GNU Linear Programming Kit; the wish is written down anew for it.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, pairwise

import numpy
import pytest
from hypothesis import given, settings

from shared.blend import Aim, Goal, Group, Kind, Limit, Side, Wish, find_blend
from shared.blend.model import Model, model_of
from tests.reference.glpk import by_glpk
from tests.shared.blends import (
    CHEAPEST,
    COCONUT,
    HARD_AND_MILD,
    OLIVE,
    PALM,
    SEVEN,
    at_least,
    at_most,
    found_in,
    keeps,
    many,
    wishes,
)


def unrounded(wish: Wish) -> float | None:
    """The aim at its best, before shares are rounded; below nil where more is better."""
    model = model_of(wish, wish.fats)
    values = model.programme.least(model.aim)
    return None if values is None else model.missing(values)


# Another solver


@settings(max_examples=50, deadline=None)
@given(wishes())
def test_another_solver_finds_the_same_best_or_none(wish: Wish) -> None:
    ours, theirs = unrounded(wish), by_glpk(wish)
    if ours is None or theirs is None:
        assert ours is theirs
    else:
        assert ours == pytest.approx(theirs, abs=2e-5)


@pytest.mark.parametrize("goal", Goal)
def test_another_solver_finds_the_same_best_of_forty_fats(goal: Goal) -> None:
    fats = many(40)
    limits = (
        *HARD_AND_MILD[:3],
        at_most(Kind.IODINE, 60),
        at_most(Kind.COUNT, 6),
        at_least(Kind.SMALLEST, 5),
    )
    target = {Group.OLEIC: 45.0, Group.SHORT_SATURATED: 20.0, "C18:0": 8.0} if goal is Goal.PROFILE else {}
    recipe = {fats[0].name: 60.0, fats[1].name: 30.0, "A fat no longer made": 10.0}
    wish = Wish(fats, Aim(goal, target), limits, 1000, recipe)
    assert unrounded(wish) == pytest.approx(by_glpk(wish), abs=2e-5)


# All corners


def corners(model: Model) -> Iterator[list[float]]:
    """Every corner of the blends that keep all limits: where as many ends hold as there are fats."""
    number = len(model.fats)
    ends = [(numpy.eye(number)[index], 0.0) for index in range(number)]
    for rows in model.limits.values():
        for row in rows:
            line = numpy.array([row.terms.get(index, 0.0) for index in range(number)])
            ends.append((line, row.high if numpy.isfinite(row.high) else row.low))
    for chosen in combinations(ends, number - 1):
        left = numpy.array([numpy.ones(number), *(line for line, _ in chosen)])
        right = numpy.array([100.0, *(end for _, end in chosen)])
        if abs(numpy.linalg.det(left)) > 1e-12:
            corner = numpy.linalg.solve(left, right)
            rows_kept = all(row.slack(corner.tolist()) > -1e-7 for row in model.programme.rows)
            if corner.min() > -1e-9 and rows_kept:
                yield corner.tolist()


@settings(max_examples=25, deadline=None)
@given(wishes(aims=(Goal.CHEAPEST,), counted=False))
def test_no_corner_is_cheaper(wish: Wish) -> None:
    limits = tuple(limit for limit in wish.limits if limit.kind is not Kind.MOVED)[:4]
    wish = replace(wish, fats=wish.fats[:5], limits=limits, recipe={}, batch_grams=None)
    wish = replace(wish, limits=tuple(one for one in limits if one.of not in {one.name for one in SEVEN[5:]}))
    model = model_of(wish, wish.fats)
    best = min(map(model.missing, corners(model)), default=None)
    assert unrounded(wish) == (None if best is None else pytest.approx(best, abs=1e-6))


# All blends of a grid


def grid(number: int, steps: int) -> Iterator[tuple[int, ...]]:
    """Every way to share so many steps among so many fats."""
    for bars in combinations(range(steps + number - 1), number - 1):
        ends = (-1, *bars, steps + number - 1)
        yield tuple(right - left - 1 for left, right in pairwise(ends))


@pytest.mark.parametrize(
    ("goal", "limits"),
    [
        (Goal.CHEAPEST, HARD_AND_MILD[:4]),
        (Goal.CHEAPEST, (*HARD_AND_MILD[:3], at_most(Kind.COUNT, 3))),
        (Goal.CHEAPEST, (at_most(Kind.IODINE, 62), at_least(Kind.SMALLEST, 15))),
        (Goal.PROFILE, HARD_AND_MILD[2:]),
        (Goal.RECIPE, HARD_AND_MILD[:3]),
        (Goal.EXPIRING, HARD_AND_MILD[:3]),
    ],
)
def test_no_blend_in_whole_steps_is_better(goal: Goal, limits: tuple[Limit, ...]) -> None:
    """Five fats in steps of 5 %: 10,626 blends."""
    fats = tuple(replace(one, expiring=150.0) for one in SEVEN[:5])
    target = {Group.OLEIC: 47.0, Group.LONG_SATURATED: 22.0} if goal is Goal.PROFILE else {}
    recipe = {OLIVE.name: 20.0, COCONUT.name: 45.0, PALM.name: 35.0}
    wish = Wish(fats, Aim(goal, target), limits, 1000, recipe, step=5, most=0)
    best = find_blend(wish).best
    assert best is not None
    assert best.step == 5
    assert best.aim == pytest.approx(best_of_grid(wish), abs=1e-6)


def best_of_grid(wish: Wish) -> float:
    aims = []
    for steps in grid(len(wish.fats), 20):
        shares = {one.name: 5.0 * count for one, count in zip(wish.fats, steps, strict=True) if count}
        if all(keeps(limit, wish, shares) for limit in wish.limits):
            aims.append(aim(wish, shares))
    return max(aims) if wish.aim.goal is Goal.EXPIRING else min(aims)


def aim(wish: Wish, shares: dict[str, float]) -> float:
    if wish.aim.goal is Goal.CHEAPEST:
        return found_in(at_most(Kind.COST, 0), wish, shares)
    if wish.aim.goal is Goal.RECIPE:
        return found_in(at_most(Kind.MOVED, 0), wish, shares)
    if wish.aim.goal is Goal.EXPIRING:
        return sum(min(share, 15.0) for share in shares.values())
    return sum(
        abs(found_in(at_most(Kind.GROUP, 0, part), wish, shares) - percent)
        for part, percent in wish.aim.target.items()
    )


# Prices of limits


@settings(max_examples=20, deadline=None)
@given(wishes(counted=False))
def test_the_price_of_a_limit_is_the_slope_of_the_aim(wish: Wish) -> None:
    """Dual values against finite differences; at a kink they lie between the slopes of either side."""
    best, answer = unrounded(wish), find_blend(wish)
    if best is None:
        return
    small = 1e-3
    for price in answer.prices:
        tighter, milder = nudged(wish, price.limit, -small), nudged(wish, price.limit, small)
        assert milder is not None
        assert price.per_unit >= (best - milder) / small - 1e-4
        if tighter is not None:
            assert price.per_unit <= (tighter - best) / small + 1e-4
        step = abs(price.loosened.value - price.limit.value)
        assert price.saves == pytest.approx(best - (nudged(wish, price.limit, step) or 0.0), abs=1e-6)
        assert price.saves <= price.per_unit * step + 1e-6


def nudged(wish: Wish, limit: Limit, by: float) -> float | None:
    """The best with one limit milder by so much."""
    if limit.kind is Kind.STOCK:
        fats = tuple(
            replace(one, on_hand=limit.value + by) if one.name == limit.of else one for one in wish.fats
        )
        return unrounded(replace(wish, fats=fats))
    sign = -1 if limit.side is Side.AT_LEAST else 1
    other = replace(limit, value=limit.value + sign * by)
    return unrounded(replace(wish, limits=tuple(other if one == limit else one for one in wish.limits)))


def test_prices_of_the_worked_case_are_slopes_on_both_sides() -> None:
    """Where only one corner is best and none meets it, both slopes and the dual value agree to 1e-6."""
    wish = Wish(tuple(one for one in SEVEN if not one.animal), CHEAPEST, HARD_AND_MILD)
    best = unrounded(wish)
    assert best is not None
    prices = find_blend(wish).prices
    assert len(prices) == 3
    for price in prices:
        for by in (-1e-3, 1e-3)[price.limit.value == 0 :]:  # less than none cannot be
            other = nudged(wish, price.limit, by)
            assert other is not None
            assert (best - other) / by == pytest.approx(price.per_unit, abs=1e-6)


@settings(max_examples=12, deadline=None)
@given(wishes())
def test_what_a_limit_saves_is_found_by_the_other_solver_too(wish: Wish) -> None:
    best = by_glpk(wish)
    for price in find_blend(wish).prices[:2]:
        if price.limit.kind is not Kind.STOCK and best is not None:
            others = (price.loosened if one == price.limit else one for one in wish.limits)
            after = by_glpk(replace(wish, limits=tuple(others)))
            assert after is not None
            assert best - after == pytest.approx(price.saves, abs=4e-5)
