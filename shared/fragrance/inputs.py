"""Certificates as suppliers write them, and how much of each fragrance goes into a bar."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shared.ingredients import MAX_GRAMS
from shared.words import Phrase

WHOLE: Final = Decimal(100)
_NOISE: Final = Decimal("1e-9")
"""% of the bar to which shares are rounded before they are compared: what binary fractions leave behind."""


class FragranceError(ValueError):
    """A figure that cannot be; ``field`` is "grams", "bar", "limit", "share" or "vanillin"."""

    def __init__(self, field: str, message: Phrase) -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, slots=True)
class Substance:
    """What a certificate lists: its share of the fragrance, and its own limit in the bar where it has one.

    ``allergen`` is one whose name may have to stand on the label.
    """

    name: str
    share: float
    limit: float | None = None
    allergen: bool = False
    cas: str = ""


@dataclass(frozen=True, slots=True)
class Certified:
    """A fragrance as its certificate has it.

    ``limit`` is that for bar soap, None where none is stated, 0 where it is not permitted. ``vanillin`` is
    its share of the fragrance, None where nobody knows.
    """

    name: str
    limit: float | None = None
    vanillin: float | None = None
    substances: tuple[Substance, ...] = ()


@dataclass(frozen=True, slots=True)
class Dose:
    """So many grams of a fragrance."""

    certified: Certified
    grams: float


@dataclass(frozen=True, slots=True)
class Blend:
    """Checked: grams of each fragrance in so many grams of finished bar."""

    amounts: Mapping[Certified, Decimal]
    bar: Decimal

    @property
    def together(self) -> Decimal:
        return sum(self.amounts.values(), Decimal(0))

    def share(self, grams: Decimal) -> Decimal:
        """In % of the bar."""
        return (grams / self.bar * WHOLE).quantize(_NOISE)

    @property
    def limited(self) -> dict[Certified, Decimal]:
        """The share of each fragrance that is in it, in % of its limit; without those that have none."""
        return {
            each: self.share(grams) / exact(each.limit) * WHOLE
            for each, grams in self.amounts.items()
            if each.limit and grams
        }


def exact(figure: float) -> Decimal:
    """As it was typed, not as binary fractions keep it."""
    return Decimal(str(figure))


def blended(doses: Iterable[Dose], bar: float) -> Blend:
    """Raises FragranceError for figures that cannot be. Doses of one fragrance are added up."""
    if not 0 < bar <= MAX_GRAMS:
        words = Phrase("The finished bar must weigh more than nothing, and 1 tonne at most.")
        raise FragranceError("bar", words)
    amounts: dict[Certified, Decimal] = {}
    for dose in doses:
        name = dose.certified.name
        _check(dose.certified)
        if not 0 <= dose.grams <= bar:
            words = Phrase("%(name)s: the weight must lie between 0 and that of the bar.", name=name)
            raise FragranceError("grams", words)
        amounts[dose.certified] = amounts.get(dose.certified, Decimal(0)) + exact(dose.grams)
    blend = Blend(amounts, exact(bar))
    if blend.share(blend.together) > WHOLE:
        raise FragranceError("grams", Phrase("All fragrances together weigh more than the bar."))
    return blend


def _check(certified: Certified) -> None:
    figures = [("limit", certified.limit), ("vanillin", certified.vanillin)]
    for substance in certified.substances:
        figures += [("share", substance.share), ("limit", substance.limit)]
    for field, share in figures:
        if share is not None and not 0 <= share <= 100:
            words = Phrase(
                "%(name)s: the figures of its certificate must lie between 0 and 100 %%.", name=certified.name
            )
            raise FragranceError(field, words)
