"""How what goes into each jug of a split batter came about."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext

from recipes.explain.explanation import Entry, Explanation, exact
from recipes.formulation import WorkedOut
from recipes.models import AmountBy, PortionBy
from recipes.portions import Into
from recipes.splitting import Jug, Split, goes_into
from shared.portions import MOULD
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import TIE, number, percent, pinch, trimmed, weight
from soapshop.core.words import in_words


@dataclass(frozen=True, slots=True)
class ToldJug:
    """A jug, and how its weight came about."""

    jug: Jug
    how: Explanation


def explain_jugs(worked_out: WorkedOut, workshop: Workshop) -> tuple[ToldJug, ...]:
    """The jugs of a batter that is split, in the order of pouring; none where it is not."""
    split = worked_out.split
    if split is None:
        return ()
    return tuple(ToldJug(jug, _jug(jug, split, worked_out, workshop)) for jug in split.jugs)


def _jug(jug: Jug, split: Split, worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    size, source = _size(jug, split, worked_out, workshop), gettext("The recipe.")
    if jug.design.size_by == PortionBy.LAYER:
        source = gettext("Density: %(density)s") % {"density": in_words(worked_out.density.source.because)}
    return Explanation(
        name=jug.design.name,
        figure=weight(jug.batter, workshop),
        formula=_formula(jug.design.size_by),
        entries=(*size, *_into(jug, worked_out, workshop), *_vessel(jug)),
        source=source,
    )


def _formula(by: PortionBy) -> str:
    return {
        PortionBy.SHARE: gettext(
            "Its share of the batter as it is before anything goes into jugs. All jugs are rounded to the "
            "scale so that together they weigh what the batter weighs."
        ),
        PortionBy.GRAMS: gettext(
            "The weight that the recipe gives it, times the size of this batch against the recipe’s own, "
            "rounded to the scale."
        ),
        PortionBy.LAYER: gettext(
            "The height of the layer times the base of the mould times the density of the batter, rounded to "
            "the scale."
        ),
        PortionBy.REST: gettext("What the other jugs leave of the batter."),
    }[by]


def _size(jug: Jug, split: Split, worked_out: WorkedOut, workshop: Workshop) -> Iterator[Entry]:
    by, size = jug.design.size_by, jug.design.size
    if by in (PortionBy.SHARE, PortionBy.REST):
        yield Entry(gettext("Batter"), weight(split.batter, workshop))
    if by == PortionBy.SHARE:
        yield Entry(gettext("Its share"), f"{trimmed(size)}{TIE}%")
    elif by == PortionBy.GRAMS:
        yield Entry(gettext("Its weight in the recipe"), f"{trimmed(size)}{TIE}g")
        times = f"× {trimmed(round(worked_out.scale, 4))}"
        yield Entry(gettext("Against the recipe’s own size"), times)
    elif by == PortionBy.LAYER:
        yield Entry(gettext("Height of the layer"), f"{trimmed(size)}{TIE}mm")
        base = gettext("%(area)s cm²") % {"area": number((split.plan.area_mm2 or 0) / 100, 1)}
        yield Entry(gettext("Base of the mould"), base)
        density = gettext("%(density)s g/mL") % {"density": trimmed(round(split.plan.density or 0, 3))}
        yield Entry(gettext("Density of the batter"), density)
    else:
        for other in split.jugs:
            if other is not jug:
                yield Entry(other.design.name, weight(other.batter, workshop))


def _into(jug: Jug, worked_out: WorkedOut, workshop: Workshop) -> Iterator[Entry]:
    if jug.goes_in:
        share = percent(worked_out.split.plan.fats_share, 1) if worked_out.split else ""
        source = gettext("%(share)s of the batter is fats") % {"share": share}
        yield Entry(gettext("Fats in it"), exact(jug.measured.fats), source)
    into = goes_into(worked_out.design, jug.design)
    for one, weighed in zip(into, jug.goes_in, strict=True):
        yield Entry(weighed.material.name, pinch(weighed.grams, workshop), _amount(one))


def _amount(into: Into) -> str:
    figures = {"amount": trimmed(round(into.amount, 3)), "density": trimmed(into.material.density)}
    words = {
        AmountBy.WEIGHT: gettext("%(amount)s %% of the weight of the batter in it"),
        AmountBy.FATS: gettext("%(amount)s %% of the fats in it"),
        AmountBy.SPOONS: gettext(
            "%(amount)s teaspoons to 1 kg of the fats in it, 5 mL each, %(density)s g/mL"
        ),
    }[into.amount_by]
    return words % figures


def _vessel(jug: Jug) -> Iterator[Entry]:
    measured = jug.measured
    if measured.height_mm and measured.portion.destination == MOULD:
        height = gettext("%(height)s mm of the mould") % {"height": number(measured.height_mm)}
        yield Entry(gettext("It fills"), height, gettext("before anything is stirred in"))
    if measured.vessel_ml:
        holds = gettext("%(volume)s mL or more") % {"volume": number(measured.vessel_ml)}
        source = gettext("what it takes up and a third more to stir in: common practice, no source")
        yield Entry(gettext("A jug for it holds"), holds, source)
