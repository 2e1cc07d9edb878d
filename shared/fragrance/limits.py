"""How much fragrance the limits allow, and what several fragrances bring together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shared.allergens import label_name
from shared.fragrance.inputs import WHOLE, Blend, Certified, Substance, exact

VANILLIN: Final = "Vanillin"


@dataclass(frozen=True, slots=True)
class Bound:
    """What some fragrances bring, in % of each, may be no more than ``limit`` % of the bar."""

    limit: Decimal
    shares: Mapping[Certified, Decimal]

    def brought(self, blend: Blend) -> Decimal:
        """Grams in the bar."""
        grams = (blend.amounts[each] * share / WHOLE for each, share in self.shares.items())
        return sum(grams, Decimal(0))

    def most(self, blend: Blend, certified: Certified) -> Decimal | None:
        """Grams of one fragrance that reach the limit, the rest staying as it is; None where none do.

        The bar weighs x more than the rest with x grams in it: others + share x = limit (rest + x).
        """
        share, limit = self.shares.get(certified, Decimal(0)) / WHOLE, self.limit / WHOLE
        if share <= limit:
            return None
        grams = blend.amounts[certified]
        others = self.brought(blend) - grams * share
        return max((limit * (blend.bar - grams) - others) / (share - limit), Decimal(0))

    def factor(self, blend: Blend) -> Decimal | None:
        """By how much all fragrances may be multiplied until they reach the limit; None if they never do."""
        limit = self.limit / WHOLE
        beyond = self.brought(blend) - limit * blend.together
        return limit * (blend.bar - blend.together) / beyond if beyond > 0 else None


@dataclass(slots=True)
class Component:
    """A substance, its share of each fragrance that brings it, and the limits that certificates state."""

    name: str
    shares: dict[Certified, Decimal]
    limits: list[float]
    allergen: bool = False

    @property
    def bound(self) -> Bound:
        """The lowest of the limits; all of the bar where there is none."""
        return Bound(exact(min(self.limits, default=100)), self.shares)

    def add(self, certified: Certified, substance: Substance) -> None:
        self.shares[certified] = self.shares.get(certified, Decimal(0)) + exact(substance.share)
        self.allergen |= substance.allergen
        if substance.limit is not None:
            self.limits.append(substance.limit)


def components_of(blend: Blend) -> list[Component]:
    """What the fragrances bring, each substance once, under its name on the label where it has one.

    A substance is the same by its entry among the allergens, by its name or by its CAS number.
    """
    components: list[Component] = []
    known: dict[str, Component] = {}
    for certified in (each for each, grams in blend.amounts.items() if grams):
        for substance in _listed(certified):
            name = label_name(substance.name, substance.cas) or substance.name.strip()
            marks = [mark for mark in (name.casefold(), substance.cas.strip()) if mark]
            component = next((known[mark] for mark in marks if mark in known), None)
            if component is None:
                component = Component(name, {}, [])
                components.append(component)
            known |= dict.fromkeys(marks, component)
            component.add(certified, substance)
    return components


def _listed(certified: Certified) -> tuple[Substance, ...]:
    """With the vanillin, which is an allergen too, where the certificate gives it only by itself."""
    names = {label_name(substance.name, substance.cas) for substance in certified.substances}
    if not certified.vanillin or VANILLIN in names:
        return certified.substances
    return (*certified.substances, Substance(VANILLIN, certified.vanillin, allergen=True))
