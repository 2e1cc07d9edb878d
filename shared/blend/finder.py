"""Finding a blend: the best within the limits, what each limit costs, and others nearly as good."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from shared.blend.checks import check
from shared.blend.clashes import Relaxation, clash_of
from shared.blend.figures import Figures, aim_of, figures_of, moved
from shared.blend.model import Model, model_of
from shared.blend.programme import Row
from shared.blend.rounding import in_steps
from shared.blend.wish import BlendError, Candidate, Goal, Kind, Limit, Wish
from shared.words import Phrase

_HALF_A_FAT = 0.5
_WORTH_SAYING = 1e-6
_NOTHING = 1e-6
"""Per cent below which a share is an error of arithmetic."""
_TRIED_SINGLY = 4
_ROUGHLY = 0.2
"""Other ways need not do without a fat to the last crumb: this share more of it will do."""
_PERFECT = {Goal.EXPIRING: -100.0}
"""What no blend can beat, as the model counts it; nil for all other aims."""
_STEPS = {Kind.COST: 0.1, Kind.STOCK: 100.0}
"""By how much a limit is loosened to tell what that brings; 1 for shares, iodine values and fats."""

_GAINS = {
    Goal.CHEAPEST: (Phrase("%(limit)s saves %(gain)s a kg"), 2),
    Goal.PROFILE: (Phrase("%(limit)s comes %(gain)s points nearer"), 1),
    Goal.EXPIRING: (Phrase("%(limit)s uses up %(gain)s %% more of what goes off soon"), 1),
    Goal.RECIPE: (Phrase("%(limit)s changes %(gain)s %% less of the recipe"), 1),
}


@dataclass(frozen=True, slots=True)
class Blend:
    """Shares in % by name of fat, largest first, with the figures of just these shares.

    ``aim`` is what the wish's aim comes to; see Goal for its unit. ``step`` is the step of the shares; None
    where limits are so tight that no rounded shares keep them: then they are to a hundredth of a per cent.
    """

    shares: Mapping[str, float]
    figures: Figures
    aim: float
    step: float | None


@dataclass(frozen=True, slots=True)
class Price:
    """What a limit costs, unless next to nothing. Figures are of the unrounded best, in the unit of the aim.

    ``per_unit`` is the dual value: what the aim gains for each unit that the limit gives, for the first bit
    of it. ``saves`` is what it really gains with ``loosened`` instead, other fats coming in as need be; it
    is at most ``per_unit`` times that step, but for limits that count fats or set a smallest share.
    """

    limit: Limit
    per_unit: float
    loosened: Limit
    saves: float
    goal: Goal

    @property
    def words(self) -> Phrase:
        """For example "at most 21 % Coconut oil saves 0.04 a kg"."""
        pattern, places = _GAINS[self.goal]
        return Phrase(pattern, limit=self.loosened.words, gain=f"{self.saves:.{places}f}")


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A fat that could not be considered, and the figure that it lacks."""

    name: str
    lacks: Phrase


@dataclass(frozen=True, slots=True)
class Answer:
    """``best`` is None where the limits clash; ``clash`` then says which. Otherwise ``clash`` is empty.

    ``untold`` are limits whose price would have taken too long to find.
    """

    best: Blend | None
    prices: tuple[Price, ...] = ()
    untold: tuple[Limit, ...] = ()
    alternatives: tuple[Blend, ...] = ()
    clash: tuple[Relaxation, ...] = ()
    left_out: tuple[LeftOut, ...] = ()


def find_blend(wish: Wish) -> Answer:
    """The best blend for a wish, with the prices of its limits, dearest first, and alternatives.

    Linear programme, solved by HiGHS; with a number of fats or a smallest share in whole numbers, where
    after two seconds the best so far counts. A price or an alternative that takes longer than half a second
    is given up. Raises BlendError for figures that make no sense.
    """
    check(wish)
    fats, left_out = _considered(wish)
    model = model_of(wish, fats)
    values = model.programme.least(model.aim)
    if values is None:
        return Answer(None, clash=clash_of(model), left_out=left_out)
    best, *alternatives = _blends(wish, model, values)
    prices, untold = _prices(wish, model, values)
    return Answer(best, prices, untold, tuple(alternatives), left_out=left_out)


def _considered(wish: Wish) -> tuple[list[Candidate], tuple[LeftOut, ...]]:
    """Only fats whose figures are known can be held to limits and aims that ask for them."""
    needs = [need for need in _NEEDS if need.asked(wish)]
    left_out = {
        fat.name: LeftOut(fat.name, need.figure) for need in needs for fat in wish.fats if need.lacking(fat)
    }
    fats = [fat for fat in wish.fats if fat.name not in left_out]
    if not fats:
        lacks = next(iter(left_out.values())).lacks
        words = Phrase(
            "No fat is left to choose from: of each a figure is missing, such as its %(figure)s.",
            figure=lacks,
        )
        raise BlendError("fats", words)
    return fats, tuple(left_out.values())


@dataclass(frozen=True, slots=True)
class _Need:
    figure: Phrase
    kinds: frozenset[Kind]
    goals: frozenset[Goal]
    lacking: Callable[[Candidate], bool]

    def asked(self, wish: Wish) -> bool:
        return wish.aim.goal in self.goals or any(limit.kind in self.kinds for limit in wish.limits)


_NEEDS = (
    _Need(Phrase("price"), frozenset({Kind.COST}), frozenset({Goal.CHEAPEST}), lambda fat: fat.price is None),
    _Need(Phrase("iodine value"), frozenset({Kind.IODINE}), frozenset(), lambda fat: fat.iodine is None),
    _Need(
        Phrase("fatty-acid profile"),
        frozenset({Kind.GROUP, Kind.ACID}),
        frozenset({Goal.PROFILE}),
        lambda fat: not fat.profile,
    ),
)


def _used(model: Model, values: Sequence[float]) -> dict[str, float]:
    """Unrounded shares of the fats that are in a blend."""
    return {fat.name: values[index] for index, fat in enumerate(model.fats) if values[index] > _NOTHING}


def _blend(wish: Wish, exact: Mapping[str, float], *, at_most: float = math.inf) -> Blend:
    """A blend in round shares, its aim missed by no more than ``at_most``."""
    fats = {fat.name: fat for fat in wish.fats if fat.name in exact}
    model = model_of(wish, list(fats.values()))
    shares, step = in_steps(model.with_row(Row(model.aim, high=at_most)), exact, wish.step)
    parts = [(share, fats[name]) for name, share in shares.items()]
    return Blend(shares, figures_of(parts), aim_of(wish, parts), step)


def _prices(wish: Wish, model: Model, values: Sequence[float]) -> tuple[tuple[Price, ...], tuple[Limit, ...]]:
    """The prices of the limits, dearest first, and the limits whose price would take too long to find."""
    best = model.missing(values)
    if best < _PERFECT.get(wish.aim.goal, 0.0) + _WORTH_SAYING:
        return (), ()
    prices, untold = [], []
    for limit, per_unit in _duals(model, values).items():
        to = limit.loosened(_STEPS.get(limit.kind, 1.0))
        if to == limit.value or not (per_unit > _WORTH_SAYING or _counts(model, limit, values)):
            continue
        loosened = model.loosened(limit, abs(to - limit.value)).least_if_quick(model.aim)
        if loosened is None:
            untold.append(limit)
            continue
        saves = best - model.missing(loosened)
        if round(saves, _GAINS[wish.aim.goal][1]) > 0:
            prices.append(Price(limit, per_unit, replace(limit, value=to), saves, wish.aim.goal))
    return tuple(sorted(prices, key=lambda price: -price.saves)), tuple(untold)


def _counts(model: Model, limit: Limit, values: Sequence[float]) -> bool:
    """Whether a limit that counts fats leans on its end; it has no dual value."""
    return limit.kind is Kind.COUNT and model.limits[limit][0].slack(values) < _HALF_A_FAT


def _duals(model: Model, values: Sequence[float]) -> dict[Limit, float]:
    """Gain of the aim for each unit by which a limit gives; where fats are counted, with the same fats."""
    programme = model.programme
    same_fats = [
        Row({column: 1.0}, round(values[column]), round(values[column]))
        for column, whole in enumerate(programme.whole)
        if whole
    ]
    prices = iter(programme.with_rows(same_fats).duals(model.aim)[len(model.frame.rows) :])
    return {
        limit: sum(abs(next(prices)) for _ in rows) * (limit.kind is not Kind.COUNT)
        for limit, rows in model.limits.items()
    }


def _blends(wish: Wish, model: Model, values: Sequence[float]) -> list[Blend]:
    """The best blend and others nearly as good, found by doing without its fats; the best first."""
    reach = wish.near / 100 * model.missing(values) if wish.aim.goal is Goal.CHEAPEST else wish.near
    at_most = model.missing(values) + reach + _WORTH_SAYING
    near = model.programme.with_rows([Row(model.aim, high=at_most)])
    blends = [_blend(wish, _used(model, values))]

    def differs(shares: Mapping[str, float]) -> bool:
        return all(moved(shares, blend.shares) >= wish.apart for blend in blends)

    for columns in _ways_out(model, blends[0]):
        if len(blends) > wish.most:
            break
        exact = _used(model, near.least_if_quick(dict.fromkeys(columns, 1.0), gap=_ROUGHLY) or values)
        if differs(exact):
            other = _blend(wish, exact, at_most=at_most)
            blends.extend([other] * differs(other.shares))
    better = -1 if wish.aim.goal is Goal.EXPIRING else 1
    return sorted(blends, key=lambda blend: better * blend.aim)


def _ways_out(model: Model, best: Blend) -> Iterator[Iterable[int]]:
    """Fats to do without as far as possible: all of the best blend at once, then each of the largest."""
    columns = {fat.name: index for index, fat in enumerate(model.fats)}
    used = [columns[name] for name in best.shares]
    yield used
    for column in used[:_TRIED_SINGLY]:
        yield [column]
