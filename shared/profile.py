"""The fatty acids and the iodine value of a blend of fats.

Fats are weighed in grams; fatty acids are % m/m of all fatty acids, iodine values g I2 per 100 g.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from shared.blend.acids import Group, group_shares, mixed, profile_of
from shared.explained import Explained, Given
from shared.fats import FatReference, iodine_from_composition
from shared.ingredients import MAX_GRAMS, FormulaError
from shared.words import Phrase

_PUBLISHED: Final = Phrase("middle of the published range")
_COMPUTED: Final = Phrase("from its fatty acids")


class Part(NamedTuple):
    """So many grams of a fat; ``reference`` is None for a fat of which nothing is published."""

    name: str
    grams: float
    reference: FatReference | None


@dataclass(frozen=True, slots=True)
class Blend:
    """What is known of a blend.

    ``acids`` and ``groups`` are of the fats whose acids are known, and add up to 100 where there are any;
    ``unknown`` names the others, which are ``unknown_share`` % of the weight. ``iodine`` is None where the
    iodine value of any fat is not known; its parts are in ``iodine_given``.
    """

    acids: Mapping[str, float]
    groups: Mapping[Group, float]
    unknown: tuple[str, ...]
    unknown_share: float
    iodine: float | None
    iodine_given: tuple[Given, ...]

    def explain_iodine(self) -> Explained | None:
        if self.iodine is None:
            return None
        return Explained(
            name=Phrase("Iodine value"),
            value=self.iodine,
            unit="g I2/100 g",
            formula=Phrase("The iodine values of the fats, each by its weight."),
            given=self.iodine_given,
            source=Phrase("On the idea of ISO 3961; computed from published fatty acids, not measured."),
        )


def blend_of(parts: Sequence[Part]) -> Blend:
    """Fatty acids and iodine value of a blend.

    The mean of the fats' shares by weight of fat: that a gram of one fat holds a little more fatty acid than
    a gram of another (94 to 96 %) is left out. Raises FormulaError without any weight, or for one that makes
    no sense.
    """
    weighed = [part for part in parts if part.grams != 0]
    if not weighed or not all(0 < part.grams <= MAX_GRAMS for part in weighed):
        raise FormulaError("fats", Phrase("Add at least one fat and its weight."))
    total = sum(part.grams for part in weighed)
    profiles = [(part, profile_of(part.reference) if part.reference else {}) for part in weighed]
    known = [(part.grams, acids) for part, acids in profiles if acids]
    known_grams = sum(grams for grams, _ in known)
    acids = mixed([(100 * grams / known_grams, profile) for grams, profile in known])
    iodine = [(part, *_iodine(part.reference)) for part in weighed]
    values = [(part.grams, value) for part, value, _ in iodine if value is not None]
    return Blend(
        acids=acids,
        groups=group_shares(acids),
        unknown=tuple(part.name for part, profile in profiles if not profile),
        unknown_share=100 * max(1 - known_grams / total, 0.0),
        iodine=sum(grams * value for grams, value in values) / total if len(values) == len(weighed) else None,
        iodine_given=tuple(
            given
            for part, value, source in iodine
            if value is not None
            for given in (
                Given(part.name, part.grams, "g"),
                Given(Phrase("%(fat)s: iodine value", fat=part.name), value, "g I2/100 g", source),
            )
        ),
    )


def _iodine(reference: FatReference | None) -> tuple[float | None, str]:
    """Iodine value of a fat and how it is known: of a triglyceride from its acids, else as published."""
    acids = profile_of(reference) if reference else {}
    if reference and acids and reference.triglyceride:
        return iodine_from_composition(acids), _COMPUTED
    if reference and reference.iodine_low is not None and reference.iodine_high is not None:
        return (reference.iodine_low + reference.iodine_high) / 2, _PUBLISHED
    return None, ""
