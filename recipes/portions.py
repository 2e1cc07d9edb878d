"""What a design says of the portions that its batter is split into, and what makes them impossible."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from inventory.models import Kind, Material
from recipes.errors import DesignError
from recipes.models import NATURAL, AmountBy, Destination, Mould, PortionBy, Trace, Version
from shared.cross_section import Technique

MOST_PORTIONS = 12
MOST_ADDITIONS = 12

GOES_INTO_PORTIONS = (Kind.FRAGRANCE, Kind.COLOUR, Kind.ADDITIVE)


@dataclass(frozen=True, slots=True)
class Into:
    """Something that goes into one portion, and what its amount means."""

    material: Material
    amount: Decimal
    amount_by: AmountBy = AmountBy.FATS


@dataclass(frozen=True, slots=True)
class PortionDesign:
    """A part of the batter; the fields mean what `recipes.models.Portion` says of them."""

    name: str
    size_by: PortionBy = PortionBy.REST
    size: Decimal | None = None
    colour: str = ""
    fragrance: Decimal | None = None
    trace: Trace = Trace.ANY
    technique: Technique = Technique.LAYER
    destination: Destination = Destination.MOULD
    other_mould: Mould | None = None
    additions: tuple[Into, ...] = ()

    def looks(self, natural: str) -> str:
        """Its colour in the bar: as it was given, else that of the first thing that colours it."""
        coloured = (into.material.colour for into in self.additions if into.material.kind == Kind.COLOUR)
        return self.colour or next(coloured, "") or natural or NATURAL


def says_nothing(portion: PortionDesign, natural: str) -> bool:
    """Whether a portion, were it the only one, would say no more than that there is batter."""
    colour = natural or NATURAL
    return portion == PortionDesign(portion.name, colour=portion.colour) and portion.looks(colour) == colour


def portions_of(version: Version) -> tuple[PortionDesign, ...]:
    """The portions of a version that was fetched `with_ingredients`, in the order of pouring."""
    return tuple(
        PortionDesign(
            name=one.name,
            size_by=PortionBy(one.size_by),
            size=one.size,
            colour=one.colour,
            fragrance=one.fragrance,
            trace=Trace(one.trace),
            technique=Technique(one.technique),
            destination=Destination(one.destination),
            other_mould=one.other_mould,
            additions=tuple(
                Into(each.material, each.amount, AmountBy(each.amount_by)) for each in one.additions.all()
            ),
        )
        for one in version.portions.all()
    )


def check_portions(portions: Iterable[PortionDesign], in_recipe: Iterable[Material]) -> None:
    """Raise DesignError for what no size of batter can put right. `in_recipe` are the recipe's materials."""
    portions, standing = tuple(portions), {material.pk for material in in_recipe}
    if len(portions) > MOST_PORTIONS:
        words = gettext("A batter is split into up to %(most)d portions; these are %(portions)d.")
        raise DesignError("portions", words % {"most": MOST_PORTIONS, "portions": len(portions)})
    if portions and all(portion.destination == Destination.KEPT for portion in portions):
        raise DesignError("portions", gettext("All of it is kept back: something must be poured."))
    for portion in portions:
        _check_figures(portion)
        _check_additions(portion, standing)


def _check_figures(portion: PortionDesign) -> None:
    if portion.size is None and portion.size_by != PortionBy.REST:
        words = gettext("Say how much of the batter %(portion)s is.") % {"portion": portion.name}
        raise DesignError("size", words, portion=portion.name)
    fragrance = portion.fragrance
    if fragrance is not None and not (fragrance.is_finite() and 0 <= fragrance <= 100):
        words = gettext("%(portion)s: the fragrance must lie between 0 %% and 100 %% of its fats.")
        raise DesignError("fragrance", words % {"portion": portion.name}, portion=portion.name)


def _check_additions(portion: PortionDesign, standing: set[int]) -> None:
    counts = Counter(into.material.pk for into in portion.additions)
    if len(portion.additions) > MOST_ADDITIONS:
        words = gettext("Up to %(most)d things go into one portion.") % {"most": MOST_ADDITIONS}
        raise DesignError("additions", words, portion=portion.name)
    for into in portion.additions:
        material = into.material
        if words := _why_not(into, counts[material.pk], in_recipe=material.pk in standing):
            raise DesignError("additions", words % {"material": material}, material, portion=portion.name)


def _why_not(into: Into, times: int, *, in_recipe: bool) -> str:
    """Why something cannot go into a portion; empty where it can. The words may name the material."""
    material = into.material
    if material.kind not in GOES_INTO_PORTIONS:
        return gettext("%(material)s belongs into the recipe, not into a portion.")
    if material.acid or material.contents is not None:
        return gettext("%(material)s takes lye or brings water, so it belongs into the recipe.")
    if in_recipe:
        return gettext("%(material)s goes into the whole batter already. Take it out of the recipe first.")
    if times > 1:
        return gettext("%(material)s stands in this portion twice.")
    if not (into.amount.is_finite() and into.amount > 0):
        return gettext("%(material)s needs an amount above zero.")
    if into.amount_by == AmountBy.SPOONS and not material.density:
        return gettext("%(material)s is given by the spoon, but has no density yet. Give it one in stock.")
    return ""
