"""Why there is no such blend: the fewest limits that clash, and how far each would have to give."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace

from shared.blend.model import Model
from shared.blend.programme import Programme, Row
from shared.blend.wish import Kind, Limit, Side
from shared.words import Phrase

_CLEAR = 0.01
"""Points by which limits must clash for the search for the fewest; closer ones are found one by one."""
_UNIT = {Kind.STOCK: 1.0, Kind.COUNT: 1.0, Kind.COST: 0.01}
"""Steps in which a limit gives; 0.1 for shares and iodine values."""
_NO_MORE_THAN_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class Relaxation:
    """One of the limits that clash, and the nearest value to which it would have to give, alone.

    ``enough`` tells whether a blend is then found; if not, other limits clash besides.
    """

    limit: Limit
    to: float
    enough: bool

    @property
    def words(self) -> Phrase:
        """For example "at most 26.5 % Coconut oil"."""
        return replace(self.limit, value=self.to).words


def clash_of(model: Model) -> tuple[Relaxation, ...]:
    """The limits of a wish without an answer that cannot hold together; without any one, the rest can.

    No smaller set of limits clashes, but for sets that clash by less than a hundredth of a point, and where
    fats are counted.
    """
    fewest = _fewest(model)
    clashing = fewest if fewest and not model.within(fewest).fits() else list(model.limits)
    for limit in list(clashing):
        others = [other for other in clashing if other != limit]
        if not model.within(others).fits():
            clashing = others
    return tuple(_relaxation(model, limit, clashing) for limit in clashing)


def _relaxation(model: Model, limit: Limit, clashing: Collection[Limit]) -> Relaxation:
    by = _needed(model, limit, model.limits)
    enough = by is not None
    if by is None:
        by = _needed(model, limit, clashing) or 0.0
    return Relaxation(limit, _given(limit, by), enough)


def _needed(model: Model, limit: Limit, limits: Iterable[Limit]) -> float | None:
    """The least by which a limit must give so that the others hold."""
    others = model.within(other for other in limits if other != limit)
    by = others.width
    sign = 1.0 if limit.side is Side.AT_LEAST else -1.0
    giving = [Row({**row.terms, by: sign}, row.low, row.high) for row in model.limits[limit]]
    found = others.with_columns(1).with_rows(giving).least({by: 1.0})
    return None if found is None else found[by]


def _given(limit: Limit, by: float) -> float:
    """The next round value on the mild side."""
    unit = _UNIT.get(limit.kind, 0.1)
    if limit.side is Side.AT_LEAST:
        return max(round(unit * math.floor((limit.value - by) / unit + _NO_MORE_THAN_ROUNDING), 2), 0.0)
    return round(unit * math.ceil((limit.value + by) / unit - _NO_MORE_THAN_ROUNDING), 2)


def _fewest(model: Model) -> list[Limit]:
    """The fewest limits that clash; empty where whole numbers or a hair's breadth decide.

    By Farkas' lemma rows A x <= b clash for x >= 0 where weights y >= 0 exist with y A >= 0 and y b < 0.
    Among such weights those are sought that need fewest limits, with a yes or no for each limit.
    """
    frame = list(_at_most(model.frame.rows))
    owned = [(limit, row) for limit, rows in model.limits.items() for row in _at_most(map(_scaled, rows))]
    rows = [*frame, *(row for _, row in owned)]
    owners = dict(enumerate((limit for limit, _ in owned), start=len(frame)))
    chosen = {limit: len(rows) + place for place, limit in enumerate(model.limits)}
    proof = (
        Programme((False,) * len(rows))
        .with_columns(len(chosen), whole=True)
        .with_rows(Row(column, low=0) for column in _columns(rows))
        .with_rows([Row({index: row.high for index, row in enumerate(rows)}, high=-_CLEAR)])
        .with_rows([Row(dict.fromkeys(owners, 1.0), low=1, high=1)])
        .with_rows(Row({index: 1.0, chosen[limit]: -1.0}, high=0) for index, limit in owners.items())
    )
    found = proof.least(dict.fromkeys(chosen.values(), 1.0))
    return [limit for limit, column in chosen.items() if found and found[column] > _CLEAR]


def _columns(rows: Iterable[Row]) -> Iterable[dict[int, float]]:
    """The table of the rows by column: the coefficients of each, by row."""
    columns: dict[int, dict[int, float]] = {}
    for index, row in enumerate(rows):
        for column, coefficient in row.terms.items():
            columns.setdefault(column, {})[index] = coefficient
    return columns.values()


def _scaled(row: Row) -> Row:
    """The same with coefficients of at most 1, so that rows weigh alike."""
    size = max(map(abs, row.terms.values()), default=0.0) or 1.0
    return Row({column: value / size for column, value in row.terms.items()}, row.low / size, row.high / size)


def _at_most(rows: Iterable[Row]) -> Iterator[Row]:
    """Each end of the rows as an upper one."""
    for row in rows:
        if row.high < math.inf:
            yield Row(row.terms, high=row.high)
        if row.low > -math.inf:
            yield Row({column: -value for column, value in row.terms.items()}, high=-row.low)
