"""What happens at the bench: a word of the trade, a temperature, a note or a photo, each with its time."""

from __future__ import annotations

from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils.translation import gettext

from batches.models import Batch, Event, State
from batches.services.behaviour import tell_fragrances
from batches.services.errors import NotOpen
from batches.services.moment import moment
from batches.services.photos import keep_photo
from batches.services.plan import check_open, lock
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record
from soapshop.core.services.photos import forget_photo

LONGEST_WORDS = 2000
TENTH = Decimal("0.1")

# °C between which a reading is believed; what lies outside is a slip or a wrong unit. From memory, no source:
# a jug with frozen liquid is the cold end; strong lye boils well above water, fats are hotter only on fire.
PLAUSIBLE = {
    Event.Kind.LYE_TEMPERATURE: (Decimal(-20), Decimal(150)),
    Event.Kind.FATS_TEMPERATURE: (Decimal(-20), Decimal(150)),
    Event.Kind.ROOM_TEMPERATURE: (Decimal(-30), Decimal(60)),
}


@transaction.atomic
def log_event(
    *,
    batch: Batch,
    kind: Event.Kind,
    key: UUID,
    by: User,
    at: datetime | None = None,
    celsius: Decimal | None = None,
    words: str = "",
    photo: UploadedFile[bytes] | None = None,
) -> Event:
    """Notes what happened to a batch that is planned, poured or curing. The same key twice counts once.

    `at` is when it happened; now where it is not given. `celsius` belongs to the kinds that are temperatures,
    and a note has words, a photo or both.

    Raises NotOpen, ValidationError (fields 'kind', 'at', 'celsius', 'words', 'photo').
    """
    require_maker(by)
    batch = lock(batch)
    if sent_before := Event.objects.filter(key=key).first():
        return sent_before
    if batch.state in (State.DROPPED, State.UNDONE):
        words = gettext("%(batch)s is %(state)s: nothing happens to it any more.")
        raise NotOpen(words % {"batch": batch, "state": batch.get_state_display().lower()})
    kind = _known(kind)
    if len(words) > LONGEST_WORDS:
        too_long = gettext("This is too long: %(most)s characters are the most.")
        raise ValidationError({"words": too_long % {"most": LONGEST_WORDS}})
    if kind == Event.Kind.NOTE and not words and photo is None:
        raise ValidationError({"words": gettext("Say something, or take a photo.")})
    event = Event.objects.create(
        batch=batch,
        kind=kind,
        key=key,
        by=by,
        at=moment(at),
        celsius=_reading(kind, celsius),
        words=words,
        photo=keep_photo(upload=photo, by=by),
    )
    tell_fragrances(batch=batch)
    return event


@transaction.atomic
def undo_event(*, batch: Batch, key: UUID, by: User) -> Event | None:
    """Takes an event back for as long as the batch is open, with its photo; None where it is gone already.

    Raises NotOpen.
    """
    require_maker(by)
    batch = lock(batch)
    check_open(batch)
    undone = batch.events.select_related("photo").filter(key=key).first()
    if undone is None:
        return None
    undone.delete()
    if undone.photo:
        forget_photo(photo=undone.photo, by=by)
    record(by=by, subject=batch, what=gettext("Took back: %(what)s") % {"what": undone.get_kind_display()})
    return undone


def _known(kind: str) -> Event.Kind:
    try:
        return Event.Kind(kind)
    except ValueError as error:
        raise ValidationError({"kind": gettext("Choose one of the words.")}) from error


def _reading(kind: Event.Kind, celsius: Decimal | None) -> Decimal | None:
    """The temperature to a tenth of a degree, of a kind that is one."""
    if kind not in PLAUSIBLE:
        if celsius is not None:
            raise ValidationError({"celsius": gettext("%(what)s has no temperature.") % {"what": kind.label}})
        return None
    if celsius is None:
        raise ValidationError({"celsius": gettext("Enter what the thermometer shows.")})
    low, high = PLAUSIBLE[kind]
    if not (celsius.is_finite() and low <= celsius <= high):
        words = gettext("This cannot be right: expected is %(low)s to %(high)s °C.")
        raise ValidationError({"celsius": words % {"low": low, "high": high}})
    return celsius.quantize(TENTH, ROUND_HALF_UP)
