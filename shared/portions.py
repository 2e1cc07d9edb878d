"""A bucket of batter split into portions: how much goes into which jug, and what goes in with it.

Weights are grams, shares %, lengths mm, volumes mL. What is to be weighed is Decimal, in whole steps of the
scale; everything else is float and unrounded.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, NamedTuple

from shared.ingredients import MAX_GRAMS
from shared.portion_plan import (
    KEPT_BACK,
    MOULD,
    Addition,
    Basis,
    Cause,
    Plan,
    Portion,
    PortionError,
    check,
)
from shared.scaling import Scale, round_shares
from shared.words import Phrase

__all__ = [
    "KEPT_BACK",
    "MOULD",
    "SHARES_OFF_BY",
    "VESSEL_SPARE",
    "Addition",
    "Basis",
    "Cause",
    "Jug",
    "Plan",
    "Portion",
    "PortionError",
    "Split",
    "WeighedAddition",
    "resolve",
    "solve",
    "stirred_in",
]

VESSEL_SPARE: Final = 1 / 3
"""Of the volume of a portion, what its vessel holds beyond it: common practice, no source."""
SHARES_OFF_BY: Final = 0.1
"""Points that the shares of all portions may miss the whole by: three times 33.3 % are meant as it."""
_DUST: Final = 1e-9


class WeighedAddition(NamedTuple):
    """A fragrance, colour or additive as it is weighed, in grams."""

    name: str
    grams: Decimal


@dataclass(frozen=True, slots=True)
class Jug:
    """A portion as it is weighed out.

    ``fats`` is grams, unrounded. ``height_mm`` is that of its layer, None where it does not go into the
    mould or area or density are not known; ``vessel_ml`` is None without a density.
    """

    portion: Portion
    grams: Decimal
    fats: float
    additions: tuple[WeighedAddition, ...]
    height_mm: float | None
    vessel_ml: float | None


@dataclass(frozen=True, slots=True)
class Split:
    """The jugs in order of pouring; ``batter`` is what they and ``left_over`` weigh together."""

    batter: Decimal
    jugs: tuple[Jug, ...]
    left_over: Decimal = Decimal(0)

    @property
    def additions(self) -> dict[str, Decimal]:
        """Grams of each thing that goes into jugs, over all of them."""
        totals: dict[str, Decimal] = {}
        for jug in self.jugs:
            for name, grams in jug.additions:
                totals[name] = totals.get(name, Decimal(0)) + grams
        return totals


def solve(plan: Plan) -> Split:
    """Work out what is left open, and weigh the portions out so that they add up to the batter.

    All portions are weighed in the step that the batter is weighed in. Raises PortionError for figures that
    cannot be, for too much said, for too little, and for a portion that the scale cannot show.
    """
    check(plan)
    whole = _batter(plan)
    scale = Scale(plan.scale.step_for(whole))
    sizes = _stated(plan, plan.portions, whole)
    total = sum(sizes.values())
    takers = [portion for portion in plan.portions if portion.open]
    for taker in takers:
        sizes[taker.name] = whole - total
        if sizes[taker.name] < float(scale.step) / 2:
            words = Phrase(
                "The other portions take %(total)s g of the %(batter)s g of batter, so nothing is left for "
                "%(name)s.",
                total=_figure(total),
                batter=_figure(whole),
                name=taker.name,
            )
            raise PortionError("size", words, Cause.OVER, taker)
    if not takers and not _by_share_alone(plan.portions):
        _check_sum(plan, whole, total, float(scale.step))
    shown = scale.shows(whole)
    return Split(shown, _weigh_out(plan, plan.portions, sizes, shown, scale))


def resolve(plan: Plan, done: Mapping[str, float | Decimal]) -> Split:
    """Split what remains in the bucket among the portions not yet poured.

    ``done`` is the grams of each portion poured so far. Of the others those in grams or as a layer keep
    their size. If one is open, it takes what remains and shares stay as planned; if none is, those with a
    share divide what remains in that ratio. The result is of what remains alone, with ``left_over`` where
    no portion takes it. Raises PortionError as solve does, and where what remains does not suffice.
    """
    check(plan)
    whole = _batter(plan) if plan.batter is None else plan.batter
    remains = max(whole - _poured(plan, done, whole), 0.0)
    scale = Scale(plan.scale.step_for(remains))
    waiting = tuple(portion for portion in plan.portions if portion.name not in done)
    _check_one_open(waiting)
    takers = {portion.name: 1.0 for portion in waiting if portion.open} or {
        portion.name: portion.share
        for portion in waiting
        if portion.share is not None and plan.grams_stated(portion) is None
    }
    sizes = _stated(plan, waiting, whole)
    needed = sum(grams for name, grams in sizes.items() if name not in takers)
    spare = remains - needed
    half = float(scale.step) / 2
    if spare < (half if takers else -half):
        raise PortionError("done", _too_little(remains, needed, waiting), Cause.OVER, *waiting)
    parts = sum(takers.values())
    sizes |= {name: spare * part / parts for name, part in takers.items()}
    shown = scale.shows(remains)
    target = min(scale.shows(sum(sizes.values())), shown)
    jugs = _weigh_out(plan, waiting, sizes, target, scale)
    return Split(shown, jugs, shown - target)


def _too_little(remains: float, needed: float, waiting: Sequence[Portion]) -> Phrase:
    if not needed:
        return Phrase("The bucket is empty: nothing is left for %(names)s.", names=_names(waiting))
    return Phrase(
        "%(remains)s g of batter remain, which does not suffice for %(names)s: what is stated of these comes "
        "to %(needed)s g.",
        remains=_figure(remains),
        names=_names(waiting),
        needed=_figure(needed),
    )


def _poured(plan: Plan, done: Mapping[str, float | Decimal], whole: float) -> float:
    known = {portion.name: portion for portion in plan.portions}
    for name, grams in done.items():
        if name not in known:
            raise PortionError("done", Phrase("%(name)s is not one of the portions.", name=name))
        if not 0 <= float(grams) <= MAX_GRAMS:
            words = Phrase("%(name)s: what was poured must lie between 0 g and 1 tonne.", name=name)
            raise PortionError("done", words, Cause.FIGURE, known[name])
    poured = sum(float(grams) for grams in done.values())
    if poured > whole + float(plan.scale.step_for(whole)):
        words = Phrase(
            "%(poured)s g have been poured, more than the %(batter)s g of batter: %(names)s.",
            poured=_figure(poured),
            batter=_figure(whole),
            names=", ".join(done),
        )
        raise PortionError("done", words, Cause.OVER, *(known[name] for name in done))
    return poured


# What is left open


def _stated(plan: Plan, portions: Sequence[Portion], whole: float) -> dict[str, float]:
    """Grams of each portion that is not open."""
    sizes = {}
    for portion in portions:
        grams = plan.grams_stated(portion)
        if grams is not None:
            sizes[portion.name] = grams
        elif portion.share is not None:
            sizes[portion.name] = portion.share / 100 * whole
    return sizes


def _by_share_alone(portions: Sequence[Portion]) -> bool:
    return all(p.share is not None and p.grams is None and p.layer_mm is None for p in portions)


def _batter(plan: Plan) -> float:
    """Grams of the batter, given or solved for, after the checks that hold for any weight of it."""
    _check_shares(plan)
    _check_one_open(plan.portions)
    both = [
        (portion, portion.share, grams)
        for portion in plan.portions
        if portion.share is not None and (grams := plan.grams_stated(portion)) is not None
    ]
    if plan.batter is not None:
        whole = plan.batter
    elif both:
        _, share, grams = both[0]
        whole = grams / share * 100
    else:
        whole = _batter_from_grams(plan)
    if not 0 < whole <= MAX_GRAMS:
        words = Phrase("The batter comes to %(batter)s g, more than 1 tonne.", batter=_figure(whole))
        raise PortionError("batter", words)
    step = float(plan.scale.step_for(whole))
    for portion, share, grams in both:
        if abs(grams - share / 100 * whole) > step:
            words = Phrase(
                "%(name)s is to be %(grams)s g and %(share)s %%, which contradict each other for a batter of "
                "%(batter)s g.",
                name=portion.name,
                grams=_figure(grams),
                share=_figure(share),
                batter=_figure(whole),
            )
            raise PortionError("size", words, Cause.OVER, portion)
    return whole


def _batter_from_grams(plan: Plan) -> float:
    for portion in plan.portions:
        if portion.open:
            words = Phrase(
                "Neither the weight of the batter nor the size of %(name)s is known: give one of them.",
                name=portion.name,
            )
            raise PortionError("batter", words, Cause.UNDER, portion)
    grams = sum(plan.grams_stated(portion) or 0 for portion in plan.portions)
    if not grams:
        words = Phrase(
            "Shares alone do not tell the weight of the batter: give it, or the grams of one of %(names)s.",
            names=_names(plan.portions),
        )
        raise PortionError("batter", words, Cause.UNDER, *plan.portions)
    return grams / (1 - _shares(plan) / 100)


def _shares(plan: Plan) -> float:
    return sum(portion.share or 0 for portion in plan.portions)


def _check_shares(plan: Plan) -> None:
    """Shares over the whole, or short of it with nothing to fill it up, whatever the batter weighs."""
    total = _shares(plan)
    sharing = [portion for portion in plan.portions if portion.share is not None]
    others = [portion for portion in plan.portions if portion.share is None]
    if total > 100 + SHARES_OFF_BY + _DUST:
        words = Phrase(
            "The shares add up to %(total)s %%, more than the whole batter: %(names)s.",
            total=_figure(total),
            names=_names(sharing),
        )
        raise PortionError("share", words, Cause.OVER, *sharing)
    if others and total > 100 - _DUST:
        words = Phrase(
            "The shares take the whole batter, so nothing is left for %(names)s.", names=_names(others)
        )
        raise PortionError("size", words, Cause.OVER, *others)
    if not others and total < 100 - SHARES_OFF_BY - _DUST:
        words = Phrase(
            "The shares add up to only %(total)s %%, and no portion takes the rest: %(names)s.",
            total=_figure(total),
            names=_names(sharing),
        )
        raise PortionError("share", words, Cause.OVER, *sharing)


def _check_one_open(portions: Sequence[Portion]) -> None:
    unknown = [portion for portion in portions if portion.open]
    if len(unknown) > 1:
        words = Phrase(
            "Only one portion can take the rest, but the size is open of %(names)s. State all but one.",
            names=_names(unknown),
        )
        raise PortionError("size", words, Cause.UNDER, *unknown)


def _check_sum(plan: Plan, whole: float, total: float, step: float) -> None:
    if total > whole + step:
        words = Phrase(
            "The portions need %(total)s g, more than the %(batter)s g of batter: %(names)s.",
            total=_figure(total),
            batter=_figure(whole),
            names=_names(plan.portions),
        )
        raise PortionError("size", words, Cause.OVER, *plan.portions)
    if total < whole - step:
        words = Phrase(
            "The portions take only %(total)s g of the %(batter)s g of batter, and none takes the rest: "
            "%(names)s.",
            total=_figure(total),
            batter=_figure(whole),
            names=_names(plan.portions),
        )
        raise PortionError("size", words, Cause.OVER, *plan.portions)


# Weighing out


def _weigh_out(
    plan: Plan, portions: Sequence[Portion], sizes: Mapping[str, float], total: Decimal, scale: Scale
) -> tuple[Jug, ...]:
    """The portions in order of pouring, in whole steps of the scale that add up to ``total``."""
    steps = round_shares(sizes, step=float(scale.step), total=float(total)) if total else {}
    jugs = []
    for portion in sorted(portions, key=lambda one: one.order):
        grams = round(steps.get(portion.name, 0) / float(scale.step)) * scale.step
        if not grams:
            words = Phrase(
                "%(name)s comes to %(grams)s g; the scale shows steps of %(step)s g. Make the batch larger.",
                name=portion.name,
                grams=f"{sizes[portion.name]:.2g}",
                step=f"{scale.step.normalize():f}",
            )
            raise PortionError("scale", words, Cause.FIGURE, portion)
        jugs.append(_jug(plan, portion, grams))
    return tuple(jugs)


def _jug(plan: Plan, portion: Portion, grams: Decimal) -> Jug:
    fats = float(grams) * plan.fats_share / 100
    volume_ml = None if plan.density is None else float(grams) / plan.density
    height_mm = None
    if volume_ml is not None and plan.area_mm2 is not None and portion.destination == MOULD:
        height_mm = volume_ml * 1000 / plan.area_mm2

    return Jug(
        portion=portion,
        grams=grams,
        fats=fats,
        additions=stirred_in(plan, portion, grams),
        height_mm=height_mm,
        vessel_ml=None if volume_ml is None else volume_ml * (1 + VESSEL_SPARE),
    )


def stirred_in(plan: Plan, portion: Portion, grams: Decimal) -> tuple[WeighedAddition, ...]:
    """What goes into a portion of so many grams of batter."""
    per_unit = {Basis.WEIGHT: float(grams) / 100, Basis.FATS: float(grams) * plan.fats_share / 10_000}
    return tuple(
        WeighedAddition(name, plan.scale.pinch(amount * per_unit[basis]))
        for name, amount, basis in portion.additions
    )


def _names(portions: Iterable[Portion]) -> str:
    return ", ".join(portion.name for portion in portions)


def _figure(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
