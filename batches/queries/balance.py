"""Where every gram of a batch went: what was weighed in against bars, trimmings, batter kept back, losses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from batches.models import Cure, Line
from batches.splitting import Splitting, weighed
from inventory.models import Lot
from recipes.models import Destination, Stage


@dataclass(frozen=True, slots=True)
class Went:
    """Grams that went one way; `lot` is what was kept back of it."""

    where: str
    grams: Decimal
    lot: Lot | None = None


@dataclass(frozen=True, slots=True)
class Balance:
    """Grams put in, and where they went; together they are the same to the last hundredth of a gram.

    `open` says that bars and trimmings were not weighed, so that losses cannot be told.
    """

    put_in: Decimal
    went: tuple[Went, ...]
    open: bool


def balance(lines: Sequence[Line], split: Splitting | None, cure: Cure | None) -> Balance | None:
    """None before anything was weighed. `lines` with their materials and weighings fetched. No queries."""
    pot = sum((weighed(line.weighings.all()) for line in lines if line.stage != Stage.TOP), Decimal(0))
    on_top = sum((_grams_on_top(line) for line in lines if line.stage == Stage.TOP), Decimal(0))
    if not pot:
        return None
    jugs = [card for card in split.cards if card.jug.grams] if split else []
    elsewhere = [
        Went(f"{card.jug.name}, {card.leads_to}", card.total, card.jug.lot)
        for card in jugs
        if card.jug.destination != Destination.MOULD
    ]
    in_mould = [card.total for card in jugs if card.jug.destination == Destination.MOULD]
    moulded = sum(in_mould, Decimal(0)) if split else pot
    left = pot - moulded - sum((one.grams for one in elsewhere), Decimal(0))
    stuck = [Went(_left_in_words(left), left)] if left else []
    ended = _cut(cure, moulded + on_top) if cure else ()
    whole = ended or (Went(gettext("In the mould"), moulded + on_top),)
    return Balance(pot + on_top, (*whole, *elsewhere, *stuck), open=not ended)


def _cut(cure: Cure, moulded: Decimal) -> tuple[Went, ...]:
    """What became of the mould; empty while nobody has weighed the bars."""
    if cure.bars_weight is None:
        return ()
    trimmings = cure.trimmings or Decimal(0)
    return (
        Went(gettext("Bars, fresh"), cure.bars_weight),
        Went(gettext("Ends and trimmings"), trimmings),
        Went(
            gettext("Lost: water, and what stuck to mould and tools"), moulded - cure.bars_weight - trimmings
        ),
    )


def _left_in_words(grams: Decimal) -> str:
    """Below zero where two scales, or one twice, did not agree."""
    if grams < 0:
        return gettext("More in the jugs than was weighed in: scales never agree to the gram")
    return gettext("Left in the bucket and on the tools")


def _grams_on_top(line: Line) -> Decimal:
    """Of toppings as weighed, of embeds by what a piece weighs."""
    amount = weighed(line.weighings.all())
    return amount * (line.material.piece_grams or 0) if line.material.counted else amount
