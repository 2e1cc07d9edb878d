"""Lots that the workshop makes itself out of other lots: batter kept back, embeds, toppings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext

from inventory.amounts import in_words
from inventory.models import Lot, LotPart, Material, Movement
from inventory.services.ledger import NotReversible, amount, give, reverse
from inventory.services.lots import stock_problems
from inventory.services.receiving import next_lot_codes, one_lot_at_a_time
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

CENT = Decimal("0.01")


def make_lot(
    *,
    material: Material,
    quantity: Decimal,
    parts: Sequence[tuple[Lot, Decimal]],
    cost: Decimal,
    key: str,
    by: User,
    at: datetime,
    best_before: date | None = None,
    place: str = "",
    note: str = "",
    document: str = "",
) -> Lot:
    """Put a lot on the shelf that was made of others; the same key again returns the first.

    `quantity` is in grams or pieces, `cost` for all of it in the workshop's currency. `parts` says how much
    of which lot is in all of it, in grams or pieces; a lot named twice counts with both. Their own stock is
    not touched: whoever makes the lot has taken them. `document` is the code of the batch it comes from.
    Raises ValidationError by field.
    """
    require_maker(by)
    with transaction.atomic():
        one_lot_at_a_time()
        if done := Movement.objects.filter(key=f"made {key}").select_related("lot__material").first():
            return done.lot
        held = _held(parts)
        _check(material, quantity, cost, held, timezone.localdate(at), best_before)
        lot = Lot.objects.create(
            material=material,
            code=next_lot_codes([material])[0],
            received_on=timezone.localdate(at),
            best_before=best_before,
            place=place,
            quantity=amount(quantity),
            cost=cost.quantize(CENT),
            note=note,
        )
        LotPart.objects.bulk_create(LotPart(lot=lot, of=of, quantity=each) for of, each in held.items())
        give(
            lot=lot,
            quantity=quantity,
            kind=Movement.Kind.MADE,
            key=f"made {key}",
            by=by,
            document=document,
            at=at,
        )
        record(by=by, subject=lot, what=gettext("made lot %(lot)s") % {"lot": lot.code}, at=at)
        lot.refresh_from_db(fields=["on_hand"])
        return lot


def unmake_lot(*, lot: Lot, reason: str, by: User) -> Movement:
    """Take back that a lot was made; twice counts once. It stays in the books, and holds nothing any more.

    What it was made of is not given back: that is up to whoever took it.
    Raises NotReversible where it was not made here, or where some of it was used since.
    """
    require_maker(by)
    with transaction.atomic():
        locked = Lot.objects.select_for_update().select_related("material").get(pk=lot.pk)
        made = locked.movements.filter(kind=Movement.Kind.MADE).first()
        if made is None:
            words = gettext("%(lot)s was not made here.")
            raise NotReversible(words % {"lot": locked.code}, code="not_reversible")
        if done := Movement.objects.filter(reverses=made).first():
            return done
        if words := _used(locked):
            raise NotReversible(words, code="not_reversible")
        back = reverse(movement=made, reason=reason, key=f"unmade {lot.pk}", by=by, through_batch=True)
        locked.parts.all().delete()
        record(by=by, subject=locked, what=gettext("took back lot %(lot)s") % {"lot": locked.code})
        return back


def _held(parts: Sequence[tuple[Lot, Decimal]]) -> dict[Lot, Decimal]:
    """How much of each lot is in it. Raises ValidationError for an amount that is none."""
    held: dict[Lot, Decimal] = {}
    for lot, quantity in parts:
        held[lot] = held.get(lot, Decimal(0)) + amount(quantity)
    return held


def _check(
    material: Material,
    quantity: Decimal,
    cost: Decimal,
    held: Mapping[Lot, Decimal],
    made_on: date,
    best_before: date | None,
) -> None:
    """Raise ValidationError by field for what a lot made here cannot be."""
    problems = stock_problems(material, quantity, cost)
    if not held:
        problems["parts"] = gettext("Say what it was made of.")
    if best_before and best_before < made_on:
        problems["best_before"] = gettext("It cannot be past its best-before on the day it is made.")
    if problems:
        raise ValidationError(problems)


def _used(lot: Lot) -> str:
    """What was done with a lot since it was made, and still stands; empty where nothing was."""
    others = lot.movements.exclude(kind__in=[Movement.Kind.MADE, Movement.Kind.REVERSED])
    last = others.filter(reversed_by__isnull=True).first()
    if last is None:
        return ""
    if last.kind == Movement.Kind.POURED:
        words = gettext("%(amount)s of %(lot)s (%(material)s) went into %(document)s. Undo that first.")
    else:
        words = gettext(
            "The stock of %(lot)s (%(material)s) was corrected since it was made, or some of it thrown away. "
            "Take that back first."
        )
    return words % {
        "amount": in_words(-last.quantity, lot.material),
        "lot": lot.code,
        "material": lot.material,
        "document": last.document,
    }
