"""Explanations of `shared`, in the reader's language and ready for a page."""

from __future__ import annotations

from recipes.explain import Entry, Explanation
from shared.explained import Explained, Given
from soapshop.core.templatetags.soapshop import number, percent
from soapshop.core.words import in_words

PLACES = {"%": 1, "g": 1, "mg KOH/g": 1, "g I2/100 g": 0, "g/mol": 3}


def opened(explained: Explained) -> Explanation:
    """A figure that opens to its formula, what was put in, and its source."""
    return Explanation(
        name=in_words(explained.name),
        figure=_figure(explained.value, explained.unit),
        formula=in_words(explained.formula),
        entries=tuple(_entry(given) for given in explained.given),
        source=in_words(explained.source),
    )


def share(per_cent: float) -> str:
    """Per cent in round figures, with a decimal where there is little."""
    return percent(per_cent, 0 if per_cent >= 10 else 1)


def grams(weight: float) -> str:
    return _figure(weight, "g")


def _entry(given: Given) -> Entry:
    return Entry(in_words(given.name), _figure(given.value, given.unit), in_words(given.source))


def _figure(value: float, unit: str) -> str:
    return f"{number(value, PLACES[unit])} {unit.replace('I2', 'I₂')}"
