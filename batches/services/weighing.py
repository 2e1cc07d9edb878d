"""Weighing a batch, line by line. Nothing leaves stock until it is poured."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max, Q, Sum
from django.utils import timezone
from django.utils.translation import gettext

from batches.models import Batch, Line, Weighing
from batches.services.errors import AlreadyWeighed, VesselChanged
from batches.services.moment import day_in_words, moment
from batches.services.plan import check_open, lock
from inventory.amounts import in_words
from inventory.models import Kind, Lot
from inventory.services.ledger import NotEnough
from recipes.models import Stage
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record


@transaction.atomic
def weigh(
    *,
    line: Line,
    lot: Lot,
    quantity: Decimal,
    key: UUID,
    by: User,
    more_to_come: bool = False,
    on_top_of: Decimal | None = None,
    at: datetime | None = None,
) -> Weighing:
    """Notes how much was weighed for a line, in grams, out of a lot. The same key twice counts once.

    `more_to_come` leaves the line open for the rest from another lot. `on_top_of` says that it went on top of
    so many grams in the pot or the jug, without zeroing the scale. `at` is when it was weighed; now where it
    is not given.
    Raises ValidationError (fields 'quantity', 'lot' and 'at'), NotEnough, NotOpen, AlreadyWeighed, and
    VesselChanged where the book knows of another sum in the pot or the jug.
    """
    require_maker(by)
    batch = lock(line.batch)
    if sent_before := Weighing.objects.filter(key=key).first():
        return sent_before
    check_open(batch)
    line = Line.objects.select_related("material").get(pk=line.pk)
    if line.done:
        words = gettext("%(material)s has been weighed already.")
        raise AlreadyWeighed(words % {"material": line.material})
    if on_top_of is not None:
        _check_vessel(line, on_top_of)
    weighing = Weighing(lot=lot, quantity=quantity, key=key, by=by, at=moment(at))
    weighing.on_top = on_top_of is not None
    return _note(line, weighing, done=not more_to_come)


@transaction.atomic
def undo_weighing(
    *, batch: Batch, by: User, weighing: int | None = None, key: UUID | None = None
) -> Weighing | None:
    """Takes back a weight noted, by its id or its key; returns it, or None where it is gone already."""
    require_maker(by)
    batch = lock(batch)
    check_open(batch)
    named = Q(key=key) if key else Q(pk=weighing)
    undone = Weighing.objects.filter(named, line__batch=batch).select_related("line__material").first()
    if undone is None:
        return None
    undone.delete()
    if undone.line.extra and not undone.line.weighings.exists():
        undone.line.delete()
    else:
        Line.objects.filter(pk=undone.line_id).update(done=False)
    return undone


@transaction.atomic
def leave(*, line: Line, by: User, done: bool = True, at: datetime | None = None) -> Line:
    """Goes on without a line of the card or the rest of it; with `done` false, it is weighed after all.

    `at` is when that was settled; now where it is not given.
    Raises ValidationError for what no soap can do without (and field 'at'), NotOpen.
    """
    require_maker(by)
    check_open(lock(line.batch))
    if done and line.before_the_lye and not line.weighings.exists():
        words = gettext("%(material)s cannot be left out: the lye is worked out for it.")
        raise ValidationError(words % {"material": line.material})
    line.done = done
    line.save(update_fields=["done"])
    record(by=by, subject=line.batch, what=left_in_words(line.material, done=done), at=moment(at))
    return line


@transaction.atomic
def add_to_pot(
    *, batch: Batch, lot: Lot, quantity: Decimal, key: UUID, by: User, at: datetime | None = None
) -> Weighing:
    """Weighs in something beyond the plan, such as the fat that makes a lye-heavy pot safe again.

    `at` is when it went in; now where it is not given.
    Raises ValidationError (fields 'quantity', 'lot' and 'at'), where the planned weight of it is still to
    come and for batter before the lye is mixed, NotEnough, NotOpen.
    """
    require_maker(by)
    batch = lock(batch)
    if sent_before := Weighing.objects.filter(key=key).first():
        return sent_before
    check_open(batch)
    _check_may_be_added(batch, lot)
    line = batch.lines.select_related("material").filter(material_id=lot.material_id).first()
    if line and not line.done:
        words = gettext("Weigh the %(material)s of the card first; what is too little can be added then.")
        raise ValidationError(words % {"material": line.material})
    weighing = Weighing(lot=lot, quantity=quantity, key=key, by=by, at=moment(at))
    _note(line or _extra_line(batch, lot, quantity), weighing, done=True)
    figures = {"amount": in_words(quantity, lot.material), "material": lot.material, "lot": lot.code}
    what = gettext("Added %(amount)s %(material)s from %(lot)s beyond the plan") % figures
    record(by=by, subject=batch, what=what, at=weighing.at)
    return weighing


@transaction.atomic
def mix_lye(*, batch: Batch, by: User, at: datetime | None = None) -> Batch:
    """Notes that the alkali has gone into the liquid, now or `at` a time. A second time changes nothing.

    Raises ValidationError (field 'at'), NotOpen.
    """
    require_maker(by)
    batch = lock(batch)
    check_open(batch)
    if batch.lye_mixed_at is None:
        batch.lye_mixed_at = moment(at)
        batch.save(update_fields=["lye_mixed_at"])
        record(by=by, subject=batch, what=gettext("Mixed the lye"), at=batch.lye_mixed_at)
    return batch


def left_in_words(material: object, *, done: bool) -> str:
    """What `leave` writes into the history."""
    words = gettext("Went on without more %(material)s") if done else gettext("Back to weigh %(material)s")
    return words % {"material": material}


def _note(line: Line, weighing: Weighing, *, done: bool) -> Weighing:
    _check_lot(line, weighing.lot, timezone.localdate(weighing.at))
    if weighing.quantity <= 0:
        raise ValidationError({"quantity": gettext("Enter what the scale shows, more than zero.")})
    if line.material.counted and weighing.quantity % 1:
        raise ValidationError({"quantity": gettext("This is counted in whole pieces, such as 250.")})
    _check_held(line.batch_id, weighing.lot, weighing.quantity)
    weighing.line = line
    weighing.save()
    line.done = done
    line.save(update_fields=["done"])
    return weighing


def _check_vessel(line: Line, on_top_of: Decimal) -> None:
    if Weighing.objects.in_vessel(line.batch_id, line.kind) != on_top_of:
        raise VesselChanged(
            gettext(
                "Meanwhile something was noted or taken back for what stands on the scale. "
                "Look again at what it should read."
            )
        )


def _check_may_be_added(batch: Batch, lot: Lot) -> None:
    kind, figures = lot.material.kind, {"material": lot.material}
    if kind == Kind.PACKAGING:
        raise ValidationError({"lot": gettext("%(material)s does not go into the pot.") % figures})
    if kind == Kind.BATTER and batch.lye_mixed_at is None:
        words = gettext("%(material)s goes in when there is batter to stir it into: mix the lye first.")
        raise ValidationError({"lot": words % figures})


def _extra_line(batch: Batch, lot: Lot, quantity: Decimal) -> Line:
    last = batch.lines.aggregate(last=Max("position"))["last"]
    stage = Stage.TOP if lot.material.kind in (Kind.EMBED, Kind.TOPPING) else Stage.USUAL
    return Line.objects.create(
        batch=batch, material=lot.material, position=last + 1, planned=quantity, stage=stage, extra=True
    )


def _check_lot(line: Line, lot: Lot, day: date) -> None:
    if lot.material_id != line.material_id:
        words = gettext("%(lot)s is %(material)s, not %(wanted)s.")
        figures = {"lot": lot.code, "material": lot.material, "wanted": line.material}
        raise ValidationError({"lot": words % figures})
    if lot.expired_on(day):
        words = gettext("%(lot)s is past its best-before of %(day)s.")
        raise ValidationError({"lot": words % {"lot": lot.code, "day": day_in_words(lot.best_before)}})


def _check_held(batch_id: int, lot: Lot, quantity: Decimal) -> None:
    """A lot can give what it holds less what this batch has weighed out of it already."""
    weighed = Weighing.objects.filter(line__batch=batch_id, lot=lot).aggregate(
        total=Sum("quantity", default=Decimal(0))
    )
    held = lot.on_hand - weighed["total"]
    if quantity > held:
        raise NotEnough(lot=lot, wanted=quantity, on_hand=held)
