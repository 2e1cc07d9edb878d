"""How the superfat of a pot came about, and how far it may be off. The same for a recipe and for a batch."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from recipes.explain.explanation import Entry, Explanation
from shared.saponification import SafetyRange
from soapshop.core.templatetags.soapshop import number, percent, trimmed


@dataclass(frozen=True, slots=True)
class Tested:
    """What a pot was judged by: the step of the scale in grams, the bounds of the chance in per cent."""

    scale_step: Decimal
    watch_from: Decimal
    stop_from: Decimal
    source: str


def explain_superfat(name: str, safety: SafetyRange, entries: Iterable[Entry], tested: Tested) -> Explanation:
    """`entries` are all that reacts: what was weighed, with its value and where that is from."""
    return Explanation(
        name=name,
        figure=percent(safety.nominal, 1),
        formula=gettext(
            "Superfat is one less the alkali that is free for the fats, divided by what the fats can take. "
            "Every fat may be anywhere in its range, the alkali anywhere in its purity, every weighing off "
            "by half a step. ‘Likely’ is the middle 95 of 100 such cases; at the very worst, all are "
            "against you at once."
        ),
        entries=(*entries, *_bounds(tested), *_outcome(safety)),
        source=gettext(
            "Uncertainty by JCGM 100:2008 (GUM); chance by inverting the characteristic function "
            "(Gil-Pelaez, Biometrika 38, 1951)."
        ),
    )


def _bounds(tested: Tested) -> tuple[Entry, ...]:
    return (
        Entry(
            gettext("Each weighing"),
            gettext("± %(weight)s g") % {"weight": number(tested.scale_step / 2, 2)},
            gettext("half a step of the scale"),
        ),
        Entry(gettext("Watch from a chance of"), f"{trimmed(tested.watch_from)} %", tested.source),
        Entry(gettext("Stop over a chance of"), f"{trimmed(tested.stop_from)} %", tested.source),
    )


def _outcome(safety: SafetyRange) -> tuple[Entry, ...]:
    likely = gettext("%(low)s to %(high)s") % {
        "low": number(safety.likely_low, 1),
        "high": percent(safety.likely_high, 1),
    }
    return (
        Entry(gettext("Likely"), likely),
        Entry(gettext("At the very worst"), percent(safety.worst_low, 1)),
        Entry(gettext("Chance of lye left over"), percent(100 * safety.chance_lye_heavy, 2)),
    )
