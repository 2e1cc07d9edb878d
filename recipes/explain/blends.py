"""How the figures of a blend came about that the finder proposes, or that stands in for a missing fat."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from django.utils.translation import gettext

from recipes.blending import Fat
from recipes.explain.explanation import Entry, Explanation
from shared.blend import Blend
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import TIE, money, number, stock_weight, trimmed, weight

Shares = Iterable[tuple[Fat, Decimal]]


def explain_blend(
    blend: Blend, named: Mapping[str, Fat], amounts: Mapping[str, Decimal], workshop: Workshop
) -> tuple[Explanation, ...]:
    """The cost of a kilogram and the iodine value, as far as they are known. `amounts` are shares in %."""
    shares = [(named[name], amount) for name, amount in amounts.items()]
    cost, iodine = blend.figures.cost, blend.figures.iodine
    return (
        *(() if cost is None else (_cost(cost, shares, workshop),)),
        *(() if iodine is None else (_iodine(iodine, shares),)),
    )


def _cost(cost: float, shares: Shares, workshop: Workshop) -> Explanation:
    words = gettext("%(share)s at %(price)s a kg")
    return Explanation(
        name=gettext("Cost of a kg"),
        figure=money(cost, workshop),
        formula=gettext("The share of each fat times its price, added up."),
        entries=tuple(
            Entry(fat.name, words % {"share": _share(share), "price": money(fat.price, workshop)})
            for fat, share in shares
        ),
        source=gettext("The prices last paid, from the stockroom."),
    )


def _iodine(iodine: float, shares: Shares) -> Explanation:
    words = gettext("%(share)s with %(iodine)s")
    return Explanation(
        name=gettext("Iodine value"),
        figure=number(iodine),
        formula=gettext("The share of each fat times its iodine value, in g of iodine to 100 g, added up."),
        entries=tuple(
            Entry(fat.name, words % {"share": _share(share), "iodine": number(fat.candidate().iodine)})
            for fat, share in shares
        ),
        source=gettext("The iodine values published of each fat, the middle of their range; not measured."),
    )


def explain_swap(
    steps: Iterable[tuple[Fat, Decimal, Decimal]], fat_grams: Decimal, workshop: Workshop
) -> Iterator[Explanation]:
    """What a batch takes of each fat that steps in: the fat, its share of all fats in %, grams in all."""
    for fat, share, grams in steps:
        yield Explanation(
            name=fat.name,
            figure=weight(grams, workshop),
            formula=gettext(
                "The weight of all fats times the share that this fat then is of them, with what the recipe "
                "took of it before. Whether there is enough is that against what the stockroom holds."
            ),
            entries=(
                Entry(gettext("All fats"), weight(fat_grams, workshop)),
                Entry(gettext("Its share"), _share(share)),
                Entry(gettext("In stock"), stock_weight(fat.on_hand, workshop)),
            ),
            source=gettext("The recipe at its own size, and the books of the stockroom."),
        )


def _share(share: Decimal) -> str:
    return f"{trimmed(share)}{TIE}%"
