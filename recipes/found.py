"""What the blend finder found, as its page shows it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from recipes.blending import Fat, Stretch, acid_bar, amounts_of, rows_query
from recipes.explain.blends import explain_blend
from recipes.explain.explanation import Explanation
from shared.blend import Answer, Blend, Goal, Price, Relaxation, Wish, find_blend
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import money, number, percent, trimmed
from soapshop.core.words import in_words, with_decimal_sign

TIE = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Share:
    """A fat of a blend with its share in %, and grams where the size of the batch is known."""

    fat: Fat
    percent: Decimal
    grams: Decimal | None

    @property
    def to_buy(self) -> bool:
        return self.grams is not None and self.grams > self.fat.on_hand


@dataclass(frozen=True, slots=True)
class FoundBlend:
    """A blend as it is read. `begin` is the question to the form of a recipe that fills it in.

    `how` explains what a kilogram costs and the iodine value, where they are known. `unknown_origin` names
    the fats of which nobody can say here whether they come from palm or animals.
    """

    aim: str
    shares: tuple[Share, ...]
    bar: tuple[Stretch, ...]
    how: tuple[Explanation, ...]
    begin: str
    unknown_origin: str

    @property
    def words(self) -> str:
        """The fats on one line, the largest first."""
        return ", ".join(f"{share.fat.name} {trimmed(share.percent)}{TIE}%" for share in self.shares)


@dataclass(frozen=True, slots=True)
class Clash:
    """A limit of those that cannot all be kept, and how far it would have to give for the others."""

    limit: str
    to: str
    enough: bool


@dataclass(frozen=True, slots=True)
class Found:
    """The best blend and others nearly as good; or, where there is none, the limits that clash.

    `untold` are limits whose price would have taken too long to work out.
    """

    best: FoundBlend | None
    alternatives: tuple[FoundBlend, ...]
    prices: tuple[str, ...]
    untold: tuple[str, ...]
    clash: tuple[Clash, ...]
    left_out: tuple[str, ...]


def find(wish: Wish, fats: Sequence[Fat], workshop: Workshop) -> Found:
    """Ask the finder. `fats` holds those of the wish. Raises BlendError."""
    answer = find_blend(wish)
    named = {fat.name: fat for fat in fats}
    return Found(
        best=_blend(answer.best, wish, named, workshop) if answer.best else None,
        alternatives=tuple(_blend(blend, wish, named, workshop) for blend in answer.alternatives),
        prices=tuple(_price(price, workshop) for price in answer.prices),
        untold=tuple(with_decimal_sign(in_words(limit.words)) for limit in answer.untold),
        clash=tuple(map(_clash, answer.clash)),
        left_out=tuple(_left_out(answer)),
    )


def _blend(blend: Blend, wish: Wish, named: Mapping[str, Fat], workshop: Workshop) -> FoundBlend:
    amounts = amounts_of(blend.shares)
    batch = Decimal(str(wish.batch_grams)) if wish.batch_grams else None
    size = {} if batch is None else {"size_grams": f"{batch.normalize():f}"}
    return FoundBlend(
        aim=_aim(blend, wish.aim.goal, workshop),
        shares=tuple(
            Share(named[name], amount, None if batch is None else batch * amount / 100)
            for name, amount in amounts.items()
        ),
        bar=acid_bar(blend.figures.groups),
        how=explain_blend(blend, named, amounts, workshop),
        begin=rows_query({named[name].material: amount for name, amount in amounts.items()}, **size),
        unknown_origin="; ".join(name for name in amounts if not named[name].origin_known),
    )


def _aim(blend: Blend, goal: Goal, workshop: Workshop) -> str:
    if goal is Goal.CHEAPEST:
        return gettext("%(price)s a kg") % {"price": money(blend.aim, workshop)}
    if goal is Goal.PROFILE:
        return gettext("%(points)s points off") % {"points": number(blend.aim, 1)}
    words = gettext("%(share)s goes off soon") if goal is Goal.EXPIRING else gettext("%(share)s changed")
    return words % {"share": percent(blend.aim, 1)}


def _price(price: Price, workshop: Workshop) -> str:
    if price.goal is not Goal.CHEAPEST:
        return with_decimal_sign(in_words(price.words))
    limit = with_decimal_sign(in_words(price.loosened.words))
    return gettext("%(limit)s saves %(gain)s a kg") % {"limit": limit, "gain": money(price.saves, workshop)}


def _clash(relaxation: Relaxation) -> Clash:
    limit, to = in_words(relaxation.limit.words), in_words(relaxation.words)
    return Clash(with_decimal_sign(limit), with_decimal_sign(to), relaxation.enough)


def _left_out(answer: Answer) -> Iterator[str]:
    for one in answer.left_out:
        words = gettext("%(fat)s: its %(figure)s is not known")
        yield words % {"fat": one.name, "figure": in_words(one.lacks)}
