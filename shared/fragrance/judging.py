"""The verdict on the fragrances of a bar."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Final

from shared.fragrance import told
from shared.fragrance.inputs import WHOLE, Blend, Certified, Dose, blended, exact
from shared.fragrance.limits import Bound, Component, components_of
from shared.fragrance.result import Allergen, FragranceVerdict, SubstanceVerdict, Verdict

NAMED_ABOVE: Final = Decimal("0.01")
"""% of a product that is rinsed off; at exactly so much an allergen need not be named.
Regulation (EC) No 1223/2009, Annex III."""


def assess(doses: Iterable[Dose], bar: float) -> Verdict:
    """Judge the fragrances in so many grams of finished bar. Raises FragranceError for impossible figures.

    Every fragrance is held against its own limit, and every restricted substance, added up over all
    fragrances, against the lowest limit that any of the certificates states for it. A substance that a
    certificate does not list is taken not to be in the fragrance.
    """
    blend = blended(doses, bar)
    components = components_of(blend)
    restricted = [component for component in components if component.limits]
    bounds = [
        *(Bound(exact(each.limit), {each: WHOLE}) for each in blend.amounts if each.limit is not None),
        *(component.bound for component in restricted),
    ]
    fragrances = [_judge(blend, certified, bounds) for certified in blend.amounts]
    substances = [_judge_substance(blend, component) for component in restricted]
    return Verdict(
        fragrances=tuple(fragrances),
        substances=tuple(substances),
        allergens=_allergens(blend, components),
        used_up=float(sum(blend.limited.values())),
        factor=_least(bound.factor(blend) for bound in bounds),
        refusals=(*told.fragrances_over(fragrances), *told.substances_over(substances)),
        watches=(*told.unstated(fragrances), *told.unproven(blend, fragrances)),
    )


def _judge(blend: Blend, certified: Certified, bounds: Iterable[Bound]) -> FragranceVerdict:
    grams = blend.amounts[certified]
    share = blend.share(grams)
    return FragranceVerdict(
        name=certified.name,
        grams=float(grams),
        share=float(share),
        limit=certified.limit,
        passes=certified.limit is None or share <= exact(certified.limit),
        most=_least(bound.most(blend, certified) for bound in bounds),
    )


def _judge_substance(blend: Blend, component: Component) -> SubstanceVerdict:
    bound = component.bound
    share = blend.share(bound.brought(blend))
    return SubstanceVerdict(
        name=component.name,
        share=float(share),
        limit=float(bound.limit),
        passes=share <= bound.limit,
        brought_by=tuple(each.name for each in component.shares),
    )


def _allergens(blend: Blend, components: Iterable[Component]) -> tuple[Allergen, ...]:
    found = []
    for component in components:
        if component.allergen:
            share = blend.share(component.bound.brought(blend))
            found.append(Allergen(component.name, float(share), named=share > NAMED_ABOVE))
    return tuple(sorted(found, key=lambda each: -each.share))


def _least(figures: Iterable[Decimal | None]) -> float | None:
    least = min((figure for figure in figures if figure is not None), default=None)
    return None if least is None else float(least)
