"""How the figures of a jug came about: its share of what remains, the fats in it, what is stirred in."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from django.utils.translation import gettext

from batches.frozen_split import FrozenInto, FrozenPortion, FrozenSplit
from batches.splitting import JugCard, Splitting, Stir
from batches.templatetags.bench import grams
from recipes.explain import Entry, Explanation
from shared.portions import Basis
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import TIE, number, percent, trimmed


def explain_jug(
    card: JugCard, split: FrozenSplit | None, board: Splitting, workshop: Workshop
) -> tuple[Explanation, ...]:
    """For a jug that was planned and is still open its batter, then each thing that is stirred in.

    None for one that is filled, for there the scale says it, and where the batter that is left does not
    suffice.
    """
    portion, batter = card.portion, card.grams
    if split is None or portion is None or batter is None or not card.jug.is_open:
        return ()
    meant = {one.material: one for one in portion.into}
    return (
        _batter(card, batter, portion, split, board, workshop),
        *(_stirred_in(stir, batter, meant[stir.line.material_id], split, workshop) for stir in card.stir),
    )


def _batter(
    card: JugCard,
    batter: Decimal,
    portion: FrozenPortion,
    split: FrozenSplit,
    board: Splitting,
    workshop: Workshop,
) -> Explanation:
    return Explanation(
        name=gettext("Batter for %(jug)s") % {"jug": card.jug.name},
        figure=grams(batter, workshop),
        formula=_formula(portion, board),
        entries=(
            Entry(gettext("Batter before anything was taken"), grams(board.batter, workshop)),
            Entry(gettext("Left in the bucket"), grams(board.remains, workshop)),
            *_size(portion, split),
            *_others(card, board, workshop),
            *_vessel(card),
        ),
        source=gettext("The recipe, as it was when the batch was planned."),
    )


def _formula(portion: FrozenPortion, board: Splitting) -> str:
    if portion.grams is not None:
        return gettext("The weight that was planned, whatever went into the other jugs.")
    if portion.layer_mm is not None:
        return gettext(
            "The height of the layer times the base of the mould times the density of the batter, rounded to "
            "the scale."
        )
    if portion.share is None:
        return gettext("What remains in the bucket, less what the other open jugs are to get.")
    if any(card.portion and card.portion.takes_the_rest for card in board.open):
        return gettext(
            "Its share of the batter as it was before anything was taken. What was filled otherwise than "
            "planned falls to the jug that takes the rest."
        )
    return gettext(
        "What remains in the bucket, less the open jugs with a weight or a height of their own, is shared "
        "among those with a share, in the ratio of their shares."
    )


def _size(portion: FrozenPortion, split: FrozenSplit) -> Iterator[Entry]:
    if portion.grams is not None:
        yield Entry(gettext("Its weight as planned"), f"{trimmed(portion.grams)}{TIE}g")
    elif portion.layer_mm is not None:
        yield Entry(gettext("Height of the layer"), f"{trimmed(portion.layer_mm)}{TIE}mm")
        base = gettext("%(area)s cm²") % {"area": number((split.area_mm2 or 0) / 100, 1)}
        yield Entry(gettext("Base of the mould"), base)
        density = gettext("%(density)s g/mL") % {"density": trimmed(round(split.density, 3))}
        yield Entry(gettext("Density of the batter"), density)
    elif portion.share is not None:
        yield Entry(gettext("Its share of the whole batter"), f"{trimmed(portion.share)}{TIE}%")


def _others(card: JugCard, board: Splitting, workshop: Workshop) -> Iterator[Entry]:
    """What the other open jugs are to get of what remains."""
    for other in board.open:
        if other.jug.pk != card.jug.pk and other.grams is not None:
            yield Entry(other.jug.name, grams(other.grams, workshop), gettext("still to be filled"))


def _vessel(card: JugCard) -> Iterator[Entry]:
    if card.vessel_ml:
        holds = gettext("%(volume)s mL or more") % {"volume": number(card.vessel_ml)}
        source = gettext("what it takes up and a third more to stir in: common practice, no source")
        yield Entry(gettext("A jug for it holds"), holds, source)


def _stirred_in(
    stir: Stir, batter: Decimal, meant: FrozenInto, split: FrozenSplit, workshop: Workshop
) -> Explanation:
    return Explanation(
        name=stir.line.material.name,
        figure=grams(stir.grams, workshop),
        formula=gettext(
            "Its per cent of what is in this jug, rounded to the scale: more batter takes more of it."
        ),
        entries=tuple(_of_what(batter, meant, split, workshop)),
        source=gettext("The recipe, as it was when the batch was planned."),
    )


def _of_what(batter: Decimal, meant: FrozenInto, split: FrozenSplit, workshop: Workshop) -> Iterator[Entry]:
    amount = {"amount": trimmed(round(meant.amount, 3))}
    yield Entry(gettext("Batter in it"), grams(batter, workshop))
    if meant.basis == Basis.FATS:
        fats = float(batter) * split.fats_share / 100
        share = gettext("%(share)s of the batter is fats") % {"share": percent(split.fats_share, 1)}
        yield Entry(gettext("Fats in it"), f"{number(fats, 1)}{TIE}g", share)
        yield Entry(gettext("As planned"), gettext("%(amount)s %% of the fats in it") % amount)
    else:
        words = gettext("%(amount)s %% of the weight of the batter in it")
        yield Entry(gettext("As planned"), words % amount)
