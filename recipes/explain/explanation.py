"""A figure with how it came about, in words ready for a page."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext

from shared.saponification import Sap
from soapshop.core.templatetags.soapshop import TIE, number, trimmed


@dataclass(frozen=True, slots=True)
class Entry:
    """A number that was put in: what of, how much, from where."""

    name: str
    figure: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Explanation:
    """A figure by its name, and behind it how it came about. `alarming` asks for the maker's eye."""

    name: str
    figure: str
    formula: str
    entries: tuple[Entry, ...]
    source: str
    alarming: bool = False


def exact(grams: float) -> str:
    """Grams before they are rounded to the scale."""
    return f"{number(grams, 1 if grams >= 10 else 2)}{TIE}g"


def pure(low: float, high: float, *, dissolved: bool) -> str:
    """How much of an alkali is alkali, from the least to the most."""
    if dissolved:
        words = gettext("%(low)s %% strong") if low == high else gettext("%(low)s to %(high)s %% strong")
    else:
        words = gettext("%(low)s %% pure") if low == high else gettext("%(low)s to %(high)s %% pure")
    return words % {"low": trimmed(low), "high": trimmed(high)}


def sap_in_words(sap: Sap) -> str:
    """A saponification value with the range in which it may be, in mg of potassium hydroxide to a gram."""
    figures = {"nominal": number(sap.nominal, 1), "low": number(sap.low, 1), "high": number(sap.high, 1)}
    return gettext("%(nominal)s mg/g, %(low)s to %(high)s") % figures
