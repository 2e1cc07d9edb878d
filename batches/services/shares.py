"""Out of which lots something is taken that was weighed without naming them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db.models import Sum
from django.utils.translation import gettext

from batches.models import Line, Weighing
from inventory.amounts import in_words
from inventory.models import Lot
from inventory.queries import lots_to_use
from inventory.services.ledger import NotEnough
from shared.money import fifo


def draw_from_lots(
    line: Line, amount: Decimal, day: date, *, only: int | None = None
) -> list[tuple[Lot, Decimal]]:
    """So many grams for a line of the card, by lot: the first to expire in front, or `only` from one.

    What the batch has weighed out of a lot already is not there any more. Raises NotEnough, and
    ValidationError where there is none at all.
    """
    held = lots_to_use([line.material_id], day).get(line.material_id, [])
    if only is not None:
        held = [lot for lot in held if lot.pk == only]
    weighed = dict(
        Weighing.objects.filter(line__batch=line.batch_id, lot__in=held)
        .values_list("lot")
        .annotate(total=Sum("quantity"))
        .order_by()
    )
    free = [(lot, max(lot.on_hand - weighed.get(lot.pk, Decimal(0)), Decimal(0))) for lot in held]
    taken, short = fifo(free, amount)
    if short > 0:
        raise short_of(line, held, amount, short)
    return taken


def short_of(line: Line, held: list[Lot], missing: Decimal, short: Decimal) -> ValidationError:
    """What to say where the lots that are `held` lack so much of what is `missing` for a line."""
    if held:
        return NotEnough(lot=held[0], wanted=missing, on_hand=missing - short)
    words = gettext("There is no %(material)s in stock; %(missing)s are needed.")
    figures = {"material": line.material, "missing": in_words(missing, line.material)}
    return ValidationError(words % figures, code="not_enough")
