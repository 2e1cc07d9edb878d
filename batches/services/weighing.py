"""Weighing a batch, line by line. Nothing leaves stock until it is poured."""

from __future__ import annotations

from decimal import Decimal
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max, Sum
from django.utils import timezone

from batches.models import Batch, Line, Weighing
from batches.services.errors import AlreadyWeighed
from batches.services.plan import check_open, lock
from inventory.amounts import in_words
from inventory.models import Lot
from inventory.services.ledger import NotEnough
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record


@transaction.atomic
def weigh(
    *, line: Line, lot: Lot, quantity: Decimal, key: UUID, by: User, more_to_come: bool = False
) -> Weighing:
    """Notes what the scale showed for a line, in grams, out of a lot. The same key twice counts once.

    `more_to_come` leaves the line open for the rest from another lot.
    Raises ValidationError (fields 'quantity' and 'lot'), NotEnough, NotOpen, AlreadyWeighed.
    """
    require_maker(by)
    batch = lock(line.batch)
    if sent_before := Weighing.objects.filter(key=key).first():
        return sent_before
    check_open(batch)
    line = Line.objects.select_related("material").get(pk=line.pk)
    if line.done:
        raise AlreadyWeighed(f"{line.material} has been weighed already.")
    return _note(line, lot, quantity, key, by, done=not more_to_come)


@transaction.atomic
def undo_weighing(*, batch: Batch, weighing: int, by: User) -> Weighing | None:
    """Takes back a weight noted, by its id; returns it, or None where it is gone already."""
    require_maker(by)
    batch = lock(batch)
    check_open(batch)
    undone = Weighing.objects.filter(line__batch=batch, pk=weighing).select_related("line__material").first()
    if undone is None:
        return None
    undone.delete()
    if undone.line.extra and not undone.line.weighings.exists():
        undone.line.delete()
    else:
        Line.objects.filter(pk=undone.line_id).update(done=False)
    return undone


@transaction.atomic
def leave(*, line: Line, by: User, done: bool = True) -> Line:
    """Goes on without a line of the card or the rest of it; with `done` false, it is weighed after all.

    Raises ValidationError for what no soap can do without, NotOpen.
    """
    require_maker(by)
    check_open(lock(line.batch))
    if done and line.before_the_lye and not line.weighings.exists():
        raise ValidationError(f"{line.material} cannot be left out: the lye is worked out for it.")
    line.done = done
    line.save(update_fields=["done"])
    record(
        by=by,
        subject=line.batch,
        what=f"{'Went on without more' if done else 'Back to weigh'} {line.material}",
    )
    return line


@transaction.atomic
def add_to_pot(*, batch: Batch, lot: Lot, quantity: Decimal, key: UUID, by: User) -> Weighing:
    """Weighs in something beyond the plan, such as the fat that makes a lye-heavy pot safe again.

    Raises ValidationError (fields 'quantity' and 'lot') and where the planned weight of it is still to come,
    NotEnough, NotOpen.
    """
    require_maker(by)
    batch = lock(batch)
    if sent_before := Weighing.objects.filter(key=key).first():
        return sent_before
    check_open(batch)
    line = batch.lines.select_related("material").filter(material_id=lot.material_id).first()
    if line and not line.done:
        raise ValidationError(
            f"Weigh the {line.material} of the card first; what is too little can be added then."
        )
    weighing = _note(line or _extra_line(batch, lot, quantity), lot, quantity, key, by, done=True)
    amount = in_words(quantity, lot.material)
    record(by=by, subject=batch, what=f"Added {amount} {lot.material} from {lot.code} beyond the plan")
    return weighing


@transaction.atomic
def mix_lye(*, batch: Batch, by: User) -> Batch:
    """Notes that the alkali has gone into the liquid, now. A second time changes nothing."""
    require_maker(by)
    batch = lock(batch)
    check_open(batch)
    if batch.lye_mixed_at is None:
        batch.lye_mixed_at = timezone.now()
        batch.save(update_fields=["lye_mixed_at"])
        record(by=by, subject=batch, what="Mixed the lye")
    return batch


def _note(line: Line, lot: Lot, quantity: Decimal, key: UUID, by: User, *, done: bool) -> Weighing:
    _check_lot(line, lot)
    if quantity <= 0:
        raise ValidationError({"quantity": "Enter what the scale shows, more than zero."})
    _check_held(line.batch_id, lot, quantity)
    weighing = Weighing.objects.create(line=line, lot=lot, quantity=quantity, key=key, by=by)
    line.done = done
    line.save(update_fields=["done"])
    return weighing


def _extra_line(batch: Batch, lot: Lot, quantity: Decimal) -> Line:
    last = batch.lines.aggregate(last=Max("position"))["last"]
    return Line.objects.create(
        batch=batch, material=lot.material, position=last + 1, planned=quantity, extra=True
    )


def _check_lot(line: Line, lot: Lot) -> None:
    if lot.material_id != line.material_id:
        raise ValidationError({"lot": f"{lot.code} is {lot.material}, not {line.material}."})
    if lot.expired_on(timezone.localdate()):
        raise ValidationError({"lot": f"{lot.code} is past its best-before of {lot.best_before:%d %b %Y}."})


def _check_held(batch_id: int, lot: Lot, quantity: Decimal) -> None:
    """A lot can give what it holds less what this batch has weighed out of it already."""
    weighed = Weighing.objects.filter(line__batch=batch_id, lot=lot).aggregate(
        total=Sum("quantity", default=Decimal(0))
    )
    held = lot.on_hand - weighed["total"]
    if quantity > held:
        raise NotEnough(lot=lot, wanted=quantity, on_hand=held)
