"""Shares that a maker can weigh by: whole steps that add up to 100 and still keep every limit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from shared.blend.model import Model
from shared.blend.programme import Row
from shared.scaling import round_shares

_REACH = 2
"""Steps by which a share may move."""
_FINER = (0.1, 0.01)
_GAP = 0.002
"""A rounding that reaches the aim to within this share of the best one is good enough."""


def in_steps(model: Model, exact: Mapping[str, float], step: float) -> tuple[dict[str, float], float | None]:
    """Good shares close by in whole steps, largest first, and the step. ``model`` has just these fats.

    Where ``step`` breaks a limit a finer one is tried; where none keeps them all the step is None and the
    shares, to a hundredth, may overstep a limit by as much.
    """
    for finer in (step, *(finer for finer in _FINER if finer < step)):
        shares = _whole_steps(model, exact, finer)
        if shares:
            return _largest_first(shares), finer
    return _largest_first(round_shares(exact, step=_FINER[-1])), None


def _whole_steps(model: Model, exact: Mapping[str, float], step: float) -> dict[str, float]:
    """Shares as so many steps each; empty where no limit-keeping ones are quickly within reach."""
    first = model.programme.width
    steps = range(first, first + len(model.fats))

    def rows() -> Iterator[Row]:
        for index, fat in enumerate(model.fats):
            near = round(exact[fat.name] / step)
            yield Row({steps[index]: 1.0}, near - _REACH, near + _REACH)
            yield Row({index: 1.0, steps[index]: -step}, 0, 0)

    programme = model.programme.with_columns(len(steps), whole=True).with_rows(rows())
    found = programme.least_if_quick(model.aim, gap=_GAP)
    if found is None:
        return {}
    return {
        fat.name: round(round(found[column]) * step, 6) for fat, column in zip(model.fats, steps, strict=True)
    }


def _largest_first(shares: Mapping[str, float]) -> dict[str, float]:
    names = sorted(shares, key=lambda name: (-shares[name], name))
    return {name: shares[name] for name in names if shares[name]}
