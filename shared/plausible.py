"""Whether a saponification value can be right for a fat, judged by the fatty acids published for it.

Shares of fatty acids are % m/m of all fatty acids, saponification values mg KOH/g.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from shared.chemistry import M_KOH, M_NAOH
from shared.explained import Explained, Given
from shared.fats import FatReference, fatty_acids, iodine_from_composition, sap_from_composition
from shared.words import Phrase

TOLERANCE: Final = 2.0
"""mg KOH/g beyond what the acids allow that still pass, for one of two things: two laboratories differ by
about one, and 10 % of free fatty acids, which bind alkali without the weight of glycerin, raise the value by
0.9. The argan oil of Huyghebaert and Hendrickx (1974) measures 0.8 from its own composition. The figure
itself is common practice, no source."""
_ONE_SAMPLE: Final = 2.0
"""mg KOH/g either way where one single composition is published, which does not say how the fat varies."""
_ROUNDING: Final = 0.05


class Verdict(StrEnum):
    AGREES = "agrees"
    DOUBTFUL = "doubtful"
    """outside what the acids allow, yet inside the published range or the tolerance"""
    CANNOT_BE = "cannot_be"


@dataclass(frozen=True, slots=True)
class Bounds:
    """What the published fatty acids allow, and the value of the typical ones among them."""

    low: float
    typical: float
    high: float

    def hold(self, value: float, by: float = _ROUNDING) -> bool:
        return self.low - by <= value <= self.high + by


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict on a saponification value, in words, with what might have happened where it cannot be."""

    verdict: Verdict
    value: float
    bounds: Bounds
    words: Phrase
    hint: Phrase | None = None


def composition(reference: FatReference) -> dict[str, float]:
    """The typical fatty acids, else the middle of each published range; empty where neither is known."""
    return dict(reference.typical) or {acid: sum(ends) / 2 for acid, ends in reference.profile.items()}


def sap_bounds(reference: FatReference) -> Bounds | None:
    """Lowest and highest saponification value of a fat with these fatty acids; None where none is published.

    Among all compositions inside the published ranges that add up to 100 %, the one with most of the long
    acids gives the lowest value, the one with most of the short the highest. The lowest is less the most
    unsaponifiable matter that the source allows.
    """
    acids = composition(reference)
    if not acids or not reference.triglyceride:
        return None
    typical = sap_from_composition(acids)
    ranges = reference.profile or {acid: (share, share) for acid, share in acids.items()}
    by_length = sorted(ranges, key=lambda acid: fatty_acids()[acid].molar_mass)
    ends = [sap_from_composition(_filled(ranges, order)) for order in (reversed(by_length), iter(by_length))]
    margin = _ONE_SAMPLE if all(low == high for low, high in ranges.values()) else 0.0
    unsaponifiable = reference.unsaponifiable_max or 0.0
    return Bounds(
        low=(min(*ends, typical) - margin) * (1 - unsaponifiable / 1000),
        typical=typical,
        high=max(*ends, typical) + margin,
    )


def _filled(ranges: Mapping[str, tuple[float, float]], order: Iterable[str]) -> dict[str, float]:
    """Every acid at its least, then the acids filled up in order until there are 100 %."""
    shares = {acid: low for acid, (low, _) in ranges.items()}
    missing = 100 - sum(shares.values())
    for acid in order:
        more = min(ranges[acid][1] - shares[acid], max(missing, 0.0))
        shares[acid] += more
        missing -= more
    return shares


def judge(value: float, reference: FatReference, *, uncertainty: float = 0.0) -> Judgement | None:
    """Whether a maker's or a supplier's value can be right for this fat; None where no acids are published.

    ``uncertainty`` is the half-width of what a certificate vouches for. Any number is judged, nonsense too.
    """
    bounds = sap_bounds(reference)
    if bounds is None:
        return None
    figures = {
        "value": f"{value:g}",
        "name": reference.name,
        "low": f"{bounds.low:.0f}",
        "high": f"{bounds.high:.0f}",
    }
    if bounds.hold(value, uncertainty + _ROUNDING):
        words = Phrase(
            "%(value)s agrees with the fatty acids of %(name)s, which give %(low)s to %(high)s.", **figures
        )
        return Judgement(Verdict.AGREES, value, bounds, words)
    if bounds.hold(value, uncertainty + TOLERANCE):
        words = Phrase(
            "%(value)s lies just outside what the fatty acids of %(name)s give, %(low)s to %(high)s. Two "
            "laboratories, or some free fatty acid, can explain it.",
            **figures,
        )
        return Judgement(Verdict.DOUBTFUL, value, bounds, words)
    if reference.sap and reference.sap.low - uncertainty <= value <= reference.sap.high + uncertainty:
        words = Phrase(
            "%(value)s lies in the published range of %(name)s, but its fatty acids give %(low)s to "
            "%(high)s. Ask for a certificate before dosing from it.",
            **figures,
        )
        return Judgement(Verdict.DOUBTFUL, value, bounds, words)
    words = Phrase(
        "%(value)s cannot be right for %(name)s: its fatty acids give %(low)s to %(high)s.", **figures
    )
    return Judgement(Verdict.CANNOT_BE, value, bounds, words, _hint(value, bounds))


_KOH_FOR_NAOH: Final = M_KOH / M_NAOH


def _hint(value: float, bounds: Bounds) -> Phrase | None:
    """The same number in another unit, if that fits."""
    sodium, gram, gram_of_sodium = value * _KOH_FOR_NAOH, 1000 * value, 1000 * value * _KOH_FOR_NAOH
    if bounds.hold(sodium, TOLERANCE):
        return Phrase(
            "It looks like a value for sodium hydroxide. For potassium hydroxide it is %(right)s.",
            right=f"{sodium:.1f}",
        )
    if bounds.hold(gram, TOLERANCE):
        return Phrase("It looks like grams to a gram. In milligrams it is %(right)s.", right=f"{gram:.1f}")
    if bounds.hold(gram_of_sodium, TOLERANCE):
        return Phrase(
            "It looks like grams of sodium hydroxide to a gram. In milligrams of potassium hydroxide it is "
            "%(right)s.",
            right=f"{gram_of_sodium:.1f}",
        )
    return None


def explain_sap(reference: FatReference) -> Explained | None:
    """The saponification value that the fatty acids give; None where none is published."""
    acids = composition(reference)
    if not acids or not reference.triglyceride:
        return None
    return Explained(
        name=Phrase("Saponification value from the fatty acids"),
        value=sap_from_composition(acids),
        unit="mg KOH/g",
        formula=Phrase(
            "Three mol of potassium hydroxide to a mol of triglyceride, whose molar mass is three times the "
            "mean fatty acid and glycerin, less three water. Unsaponifiable matter is not taken off."
        ),
        given=_acids(reference, acids),
        source=Phrase("On the idea of AOCS Cd 3a-94; IUPAC standard atomic weights."),
    )


def explain_iodine(reference: FatReference) -> Explained | None:
    """The iodine value that the fatty acids give; None where none is published."""
    acids = composition(reference)
    if not acids or not reference.triglyceride:
        return None
    return Explained(
        name=Phrase("Iodine value from the fatty acids"),
        value=iodine_from_composition(acids),
        unit="g I2/100 g",
        formula=Phrase("One mol of iodine to each double bond of a mol of triglyceride, in grams to 100 g."),
        given=_acids(reference, acids),
        source=Phrase("On the idea of ISO 3961, computed; IUPAC standard atomic weights."),
    )


def _acids(reference: FatReference, acids: Mapping[str, float]) -> tuple[Given, ...]:
    what = "typical fatty acids" if reference.typical else "range of fatty acids"
    source = next(source.source for source in reference.sources if source.what == what)
    return tuple(
        Given(f"{acid}, {fatty_acids()[acid].name}", share, "%", source) for acid, share in acids.items()
    )
