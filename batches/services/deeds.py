"""Deeds from a phone that was without the network: each goes into the book once, or the maker is asked."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from enum import StrEnum

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext

from batches.models import Batch, Deed, Event, Line, State, Weighing
from batches.services import conflicts, jug_conflicts, jug_deeds, weighing
from batches.services.events import log_event
from batches.services.photos import keep_photo
from batches.services.plan import lock
from batches.services.pour import pour
from batches.services.told import (
    Add,
    AddJug,
    Count,
    EmptyJug,
    Fill,
    Leave,
    LeaveJug,
    Log,
    MixLye,
    Pour,
    Told,
    TopUp,
    Undo,
    Weigh,
    plain,
)
from inventory.amounts import in_words
from inventory.models import Lot
from inventory.services.ledger import NotEnough, correct
from recipes.models import Stage
from shared.saponification import FormulaError
from soapshop.core import words
from soapshop.core.access import require_maker
from soapshop.core.models import Photo, User
from soapshop.core.services.history import record


class Result(StrEnum):
    """What became of a deed that is settled."""

    DONE = "done"
    ALREADY = "already"
    ASIDE = "aside"


@transaction.atomic
def receive(*, batch: Batch, told: Told, by: User) -> Result:
    """Puts a deed into the book together with the note that it has arrived: both or neither.

    The same key again changes nothing. Raises Held where the book has moved on and the maker has to choose,
    ValidationError for what the book refuses.
    """
    require_maker(by)
    batch = lock(batch)
    if known := Deed.objects.filter(key=told.key).first():
        if known.batch_id != batch.pk:
            raise ValidationError(gettext("This was told of another batch already."))
        return Result.ALREADY
    if told.aside:
        _set_aside(batch, told, by)
        return Result.ASIDE
    _do(batch, told, _moment(batch, told.at), by)
    _arrived(batch, told, by)
    return Result.DONE


def _moment(batch: Batch, at: datetime) -> datetime:
    """The time by the phone's clock. One that is wrong by far puts no deed before its plan or after now."""
    return min(max(at, batch.planned_at), timezone.now())


def _do(batch: Batch, told: Told, at: datetime, by: User) -> None:
    match told.content:
        case Weigh() as content:
            _weigh(batch, told, content, at, by)
        case Add() as content:
            _add(batch, told, content, at, by)
        case Undo() as content:
            _undo(batch, content, by)
        case Leave() as content:
            _leave(batch, content, at, by)
        case MixLye():
            _mix_lye(batch, at, by)
        case Log() as content:
            _log(batch, told, content, at, by)
        case Count() as content:
            _count(batch, told, content, by)
        case Fill() | EmptyJug() | LeaveJug() | TopUp() | AddJug() as content:
            jug_deeds.do(batch=batch, key=told.key, content=content, at=at, by=by)
        case poured:
            _pour(batch, told, poured, at, by)


def _arrived(
    batch: Batch,
    told: Told,
    by: User,
    *,
    set_aside: bool = False,
    words: str = "",
    photo: Photo | None = None,
) -> None:
    Deed.objects.create(
        key=told.key,
        batch=batch,
        kind=told.kind,
        content=plain(told.content),
        by=by,
        done_at=told.at,
        set_aside=set_aside,
        words=words,
        photo=photo,
    )


def _weigh(batch: Batch, told: Told, content: Weigh, at: datetime, by: User) -> None:
    if _is_noted(batch, told):
        return
    _check_open(batch)
    line, lot = _line(batch, content.line), _lot(content.lot)
    if line.done:
        raise conflicts.weighed_already(line, content, lot)
    _check_keeps(batch, content, lot, at)
    _note(batch, told, content, line, lot, at, by, more_to_come=content.more_to_come)


def _add(batch: Batch, told: Told, content: Add, at: datetime, by: User) -> None:
    """Beyond the card; but where the line is open by now, it counts towards what the card asks for."""
    if _is_noted(batch, told):
        return
    _check_open(batch)
    lot = _lot(content.lot)
    _check_keeps(batch, content, lot, at)
    line = batch.lines.select_related("material").filter(material=lot.material_id, done=False).first()
    if line:
        missing = line.planned - sum((each.quantity for each in line.weighings.all()), Decimal(0))
        more = content.quantity < missing
        _note(batch, told, content, line, lot, at, by, more_to_come=more)
        return
    try:
        weighing.add_to_pot(batch=batch, lot=lot, quantity=content.quantity, key=told.key, by=by, at=at)
    except NotEnough as error:
        raise conflicts.holds_less(batch, told, content, lot, timezone.localdate(at)) from error


def _note(
    batch: Batch,
    told: Told,
    content: Weigh | Add,
    line: Line,
    lot: Lot,
    at: datetime,
    by: User,
    *,
    more_to_come: bool,
) -> None:
    try:
        weighing.weigh(
            line=line,
            lot=lot,
            quantity=content.quantity,
            key=told.key,
            by=by,
            more_to_come=more_to_come,
            at=at,
        )
    except NotEnough as error:
        raise conflicts.holds_less(batch, told, content, lot, timezone.localdate(at)) from error


def _undo(batch: Batch, content: Undo, by: User) -> None:
    """What is gone already is no conflict."""
    parts = batch.deeds.filter(content__part_of=str(content.weighing)).values_list("key", flat=True)
    noted = Weighing.objects.filter(line__batch=batch, key__in=[content.weighing, *parts])
    keys = list(noted.values_list("key", flat=True))
    if keys:
        _check_open(batch)
    for key in keys:
        weighing.undo_weighing(batch=batch, key=key, by=by)


def _leave(batch: Batch, content: Leave, at: datetime, by: User) -> None:
    line = _line(batch, content.line)
    if line.done == content.done:
        return
    _check_open(batch)
    weighing.leave(line=line, by=by, done=content.done, at=at)


def _mix_lye(batch: Batch, at: datetime, by: User) -> None:
    if batch.lye_mixed_at is not None:
        return
    _check_open(batch)
    weighing.mix_lye(batch=batch, by=by, at=at)


def _log(batch: Batch, told: Told, content: Log, at: datetime, by: User) -> None:
    if batch.state in (State.DROPPED, State.UNDONE):
        raise conflicts.nothing_happens_any_more(batch)
    log_event(
        batch=batch,
        kind=Event.Kind(content.kind),
        key=told.key,
        by=by,
        at=at,
        celsius=content.celsius,
        words=content.words,
        photo=told.photo,
    )


def _count(batch: Batch, told: Told, content: Count, by: User) -> None:
    """Only ever upwards: should the lot have been filled up since, the book is right as it is."""
    _check_open(batch)
    lot = _lot(content.lot)
    if lot.on_hand < content.quantity:
        reason = gettext("It held more than the book said when %(batch)s was weighed") % {"batch": batch}
        correct(lot=lot, counted=content.quantity, reason=reason, key=f"deed {told.key}", by=by)


def _pour(batch: Batch, told: Told, content: Pour, at: datetime, by: User) -> None:
    if batch.pour_key == told.key:
        return
    _check_open(batch)
    day = timezone.localdate(at)
    open_lines = batch.lines.filter(done=False).exclude(stage=Stage.JUG)
    if waiting := list(open_lines.select_related("material")):
        raise conflicts.still_to_weigh(batch, waiting, day)
    jug_conflicts.check_all_filled(batch)
    try:
        pour(
            batch=batch,
            key=told.key,
            by=by,
            at=at,
            stop_reason=content.stop_reason,
            words=content.words,
            photo=told.photo,
        )
    except NotEnough as error:
        raise conflicts.used_up(batch, error.lot, day) from error
    except FormulaError as error:
        raise ValidationError(words.in_words(error.args[0])) from error


def _set_aside(batch: Batch, told: Told, by: User) -> None:
    """Keeps a deed in the record only, with its picture. Whatever may be wrong with it, this succeeds."""
    photo, trouble = _photo(told, by)
    words = _in_words(batch, told) + trouble
    _arrived(batch, told, by, set_aside=True, words=words, photo=photo)
    at = timezone.localtime(told.at)
    told_of = gettext("Kept aside, done at %(time)s: %(words)s") % {"time": f"{at:%H:%M}", "words": words}
    record(by=by, subject=batch, what=told_of)


def _photo(told: Told, by: User) -> tuple[Photo | None, str]:
    """The picture that came with it, or why it could not be kept."""
    try:
        return keep_photo(upload=told.photo, by=by), ""
    except ValidationError as error:
        words = gettext("(with a picture that could not be kept: %(why)s)")
        return None, " " + words % {"why": " ".join(error.messages)}


def _in_words(batch: Batch, told: Told) -> str:
    match told.content:
        case Weigh(lot=lot, quantity=quantity) | Add(lot=lot, quantity=quantity):
            return _amount_of(lot, quantity)
        case Count(lot=lot, quantity=quantity):
            return gettext("Counted %(what)s") % {"what": _amount_of(lot, quantity)}
        case Undo(weighing=key):
            undone = Weighing.objects.filter(line__batch=batch, key=key).select_related("lot").first()
            if undone is None:
                return gettext("Took back a weight")
            return gettext("Took back %(what)s") % {"what": _amount_of(undone.lot_id, undone.quantity)}
        case Leave(line=pk, done=done):
            line = batch.lines.filter(pk=pk).select_related("material").first()
            material = line.material if line else gettext("a line that is no longer there")
            return weighing.left_in_words(material, done=done)
        case MixLye():
            return gettext("Mixed the lye")
        case Log(kind=kind, words=words, celsius=celsius):
            degrees = "" if celsius is None else f" {celsius} °C"
            return f"{Event.Kind(kind).label}{degrees}{': ' if words else ''}{words}"
        case Fill() | EmptyJug() | LeaveJug() | TopUp() | AddJug() as of_jugs:
            return jug_deeds.in_words(of_jugs)
        case poured:
            reason = poured.stop_reason and gettext("Reason: %(reason)s") % {"reason": poured.stop_reason}
            return ". ".join(filter(None, [gettext("The pour"), poured.words, reason]))


def _amount_of(lot: int, quantity: Decimal) -> str:
    found = Lot.objects.filter(pk=lot).select_related("material").first()
    if found is None:
        return gettext("%(grams)s g from a lot that is no longer there") % {"grams": quantity}
    figures = {"amount": in_words(quantity, found.material), "material": found.material, "lot": found.code}
    return gettext("%(amount)s %(material)s from %(lot)s") % figures


def _is_noted(batch: Batch, told: Told) -> bool:
    """Whether the weight came by a form of the bench before, whose answer the phone never saw."""
    return Weighing.objects.filter(line__batch=batch, key=told.key).exists()


def _check_open(batch: Batch) -> None:
    if not batch.is_open:
        raise conflicts.closed(batch)


def _check_keeps(batch: Batch, content: Weigh | Add, lot: Lot, at: datetime) -> None:
    day = timezone.localdate(at)
    if lot.expired_on(day):
        raise conflicts.expired(batch, content, lot, day)


def _line(batch: Batch, pk: int) -> Line:
    line = batch.lines.select_related("material").filter(pk=pk).first()
    if line is None:
        raise ValidationError(gettext("This line is not on the card of %(batch)s.") % {"batch": batch})
    return line


def _lot(pk: int) -> Lot:
    lot = Lot.objects.select_related("material").filter(pk=pk).first()
    if lot is None:
        raise ValidationError(gettext("This lot is not in stock and never was."))
    return lot
