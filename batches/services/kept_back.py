"""Batter that was kept back: a lot of its own, with all that is in it, until another pour takes it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal

from django.utils import timezone
from django.utils.translation import gettext

from batches.models import Batch, Line
from batches.splitting import JugCard, Splitting, batter_of
from inventory.models import Kind, Lot
from inventory.services.made import make_lot, unmake_lot
from inventory.services.materials import create_material
from recipes.models import Destination, Stage
from shared.money import cost_of
from soapshop.core.models import User

DAYS_USABLE = 1  # until it is too hard to pour: common practice, no source

HUNDREDTH = Decimal("0.01")


def keep_back(*, batch: Batch, lines: list[Line], splitting: Splitting, by: User) -> None:
    """Make a lot of every jug that is kept back. Belongs into the transaction of the pour.

    `lines` with their weighings and the weighings' lots fetched.
    """
    for card in splitting.cards:
        if card.jug.destination == Destination.KEPT and card.jug.grams:
            card.jug.lot = _lot(batch, card, lines, by)
            card.jug.save(update_fields=["lot"])


def take_back_kept(*, batch: Batch, reason: str, by: User) -> None:
    """Unmake the lots of an undone pour. Raises NotReversible where one was used since."""
    for lot in Lot.objects.filter(jug__batch=batch):
        unmake_lot(lot=lot, reason=reason, by=by)


def _lot(batch: Batch, card: JugCard, lines: list[Line], by: User) -> Lot:
    poured_at = batch.poured_at or timezone.now()
    parts = _parts(card, lines)
    name = gettext("%(jug)s, batter of %(batch)s") % {"jug": card.jug.name, "batch": batch.code}
    material = create_material(kind=Kind.BATTER, name=name, by=by)
    return make_lot(
        material=material,
        quantity=card.total.quantize(HUNDREDTH),
        parts=parts,
        cost=cost_of((grams, lot.unit_cost) for lot, grams in parts),
        key=f"jug {card.jug.pk}",
        by=by,
        at=poured_at,
        best_before=timezone.localdate(poured_at) + timedelta(days=DAYS_USABLE),
        document=batch.code,
    )


def _parts(card: JugCard, lines: Sequence[Line]) -> list[tuple[Lot, Decimal]]:
    """The jug's share of all that went into the whole batter, and what was stirred into it.

    Without what is less than the ledger keeps.
    """
    share = (card.jug.grams or Decimal(0)) / batter_of(lines)
    held: defaultdict[Lot, Decimal] = defaultdict(Decimal)
    for line in lines:
        for weighing in line.weighings.all():
            if line.stage not in (Stage.JUG, Stage.TOP):
                held[weighing.lot] += weighing.quantity * share
            elif weighing.jug_id == card.jug.pk:
                held[weighing.lot] += weighing.quantity
    rounded = ((lot, grams.quantize(HUNDREDTH)) for lot, grams in held.items())
    return [(lot, grams) for lot, grams in rounded if grams]
