"""The cure record: unmoulding, cutting, photo notes and weigh-ins."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext, ngettext

from batches.models import BarMovement, Batch, Cure, CureNote, State, WeighIn, Weighing
from batches.services.errors import AlreadyCut
from batches.services.moment import day_in_words
from batches.services.photos import keep_photo
from shared.units import format_weight
from soapshop.core.access import require_maker
from soapshop.core.models import Units, User
from soapshop.core.queries import workshop
from soapshop.core.services.history import record
from soapshop.core.words import with_decimal_sign


@transaction.atomic
def unmould(*, cure: Cure, on: date, by: User) -> Cure:
    """Notes the day a batch came out of its mould. Raises ValidationError (field 'on')."""
    require_maker(by)
    cure = lock_open(cure)
    _check_day(cure, on)
    if cure.cut_on and on > cure.cut_on:
        raise ValidationError(
            {
                "on": gettext("The batch was cut on %(day)s, before this day.")
                % {"day": day_in_words(cure.cut_on)}
            }
        )
    cure.unmoulded_on = on
    cure.save(update_fields=["unmoulded_on"])
    record(by=by, subject=cure.batch, what=gettext("Unmoulded %(batch)s") % {"batch": cure.batch.code})
    return cure


@transaction.atomic
def cut(
    *,
    cure: Cure,
    on: date,
    bars: int,
    trimmings: Decimal,
    key: UUID,
    by: User,
    place: str = "",
    bars_weight: Decimal | None = None,
) -> Cure:
    """Notes the cut: bars for the rack, grams of all of them and of ends and trimmings; the cure days count
    from here.

    Sent twice with one key, it counts once.
    Raises AlreadyCut, ValidationError (fields 'on', 'bars', 'bars_weight', 'trimmings').
    """
    require_maker(by)
    cure = lock_open(cure)
    if BarMovement.objects.filter(key=key).exists():
        return cure
    if cure.is_cut:
        figures = {"batch": cure.batch.code, "day": day_in_words(cure.cut_on)}
        raise AlreadyCut(gettext("%(batch)s was cut on %(day)s already.") % figures)
    _check_day(cure, on)
    if cure.unmoulded_on and on < cure.unmoulded_on:
        words = gettext("It was unmoulded on %(day)s, after this day.")
        raise ValidationError({"on": words % {"day": day_in_words(cure.unmoulded_on)}})
    if bars < 1:
        raise ValidationError({"bars": gettext("A cut gives at least one bar.")})
    _check_weight(cure, trimmings, "trimmings")
    if bars_weight is not None:
        _check_weight(cure, bars_weight + trimmings, "bars_weight")
    cure.cut_on = on
    cure.unmoulded_on = cure.unmoulded_on or on
    cure.ready_on = on + timedelta(days=cure.cure_days)
    cure.bars_cut = cure.bars_left = bars
    cure.trimmings, cure.bars_weight = trimmings, bars_weight
    cure.place = place
    cure.save()
    Batch.objects.filter(pk=cure.batch_id).update(state=State.CUT)
    BarMovement.objects.create(cure=cure, count=bars, kind=BarMovement.Kind.CUT, key=key, by=by)
    words = ngettext("Cut %(batch)s into %(bars)s bar", "Cut %(batch)s into %(bars)s bars", bars)
    record(by=by, subject=cure.batch, what=words % {"batch": cure.batch.code, "bars": bars})
    return cure


@transaction.atomic
def turn(*, cure: Cure, key: UUID, by: User) -> Cure:
    """Notes that the bars were turned today. Sent twice, by one key or on one day, it counts once.

    Raises ValidationError where there are no bars to turn.
    """
    require_maker(by)
    cure = lock_open(cure)
    today = timezone.localdate()
    if cure.turned_on == today or CureNote.objects.filter(key=key).exists():
        return cure
    if not (cure.is_cut and cure.bars_left):
        raise ValidationError(gettext("%(batch)s has no bars to turn.") % {"batch": cure.batch.code})
    cure.turned_on = today
    cure.save(update_fields=["turned_on"])
    CureNote.objects.create(cure=cure, words=gettext("Turned"), key=key, by=by)
    return cure


@transaction.atomic
def turn_all(*, cures: Iterable[Cure], key: UUID, by: User) -> list[Cure]:
    """Turns several batches, all or none; each has its own key made of the one that was sent."""
    return [turn(cure=cure, key=uuid5(key, f"turn {cure.pk}"), by=by) for cure in cures]


@transaction.atomic
def add_note(
    *,
    cure: Cure,
    words: str,
    photo: UploadedFile[bytes] | None,
    key: UUID,
    by: User,
    at: datetime | None = None,
    scent: str = "",
) -> CureNote:
    """Adds words, a picture, how strong the scent is, or all of it to the record.

    Sent twice with one key, it counts once. `scent` is a value of `Scent`, or empty.

    It stands at `at`, else at the time when the photo was taken if that was during the cure, else now.

    Raises ValidationError (fields 'words', 'photo').
    """
    require_maker(by)
    cure = lock_open(cure)
    if sent_before := CureNote.objects.filter(key=key).first():
        return sent_before
    if not words and photo is None and not scent:
        raise ValidationError({"words": gettext("Write something, take a photo, or say how it smells.")})
    stored = keep_photo(upload=photo, by=by)
    taken = stored.taken_at if stored and timezone.localdate(stored.taken_at) >= cure.started_on else None
    when = at or taken or timezone.now()
    return CureNote.objects.create(cure=cure, at=when, words=words, photo=stored, scent=scent, key=key, by=by)


@transaction.atomic
def weigh_in(*, cure: Cure, on: date, grams: Decimal, bars: int, key: UUID, by: User) -> WeighIn:
    """Notes the weight of some bars, in grams. Sent twice with one key, it counts once.

    Raises ValidationError (fields 'on', 'bars', 'grams').
    """
    require_maker(by)
    cure = lock_open(cure)
    if sent_before := WeighIn.objects.filter(key=key).first():
        return sent_before
    if cure.cut_on is None or cure.bars_cut is None:
        raise ValidationError(gettext("Bars can be weighed once the batch is cut."))
    _check_day(cure, on)
    if on < cure.cut_on:
        words = gettext("The batch was cut on %(day)s, after this day.")
        raise ValidationError({"on": words % {"day": day_in_words(cure.cut_on)}})
    if not 1 <= bars <= cure.bars_cut:
        words = ngettext(
            "The batch was cut into %(bars)s bar.", "The batch was cut into %(bars)s bars.", cure.bars_cut
        )
        raise ValidationError({"bars": words % {"bars": cure.bars_cut}})
    _check_weight(cure, grams, "grams")
    return WeighIn.objects.create(cure=cure, on=on, grams=grams, bars=bars, key=key, by=by)


def lock_open(cure: Cure) -> Cure:
    locked = Cure.objects.select_for_update(of=("self",)).select_related("batch").get(pk=cure.pk)
    if locked.ended_at is not None:
        raise ValidationError(gettext("The pour of %(batch)s was undone.") % {"batch": locked.batch.code})
    return locked


def _check_day(cure: Cure, on: date) -> None:
    if on < cure.started_on:
        words = gettext("The batch was poured on %(day)s, after this day.")
        raise ValidationError({"on": words % {"day": day_in_words(cure.started_on)}})
    if on > timezone.localdate():
        raise ValidationError({"on": gettext("This day has not come yet.")})


def _check_weight(cure: Cure, grams: Decimal, field: str) -> None:
    """No part of a batch weighs more than all that went into the pot."""
    weighings = Weighing.objects.filter(line__batch=cure.batch_id).select_related("line__material")
    pot = sum((_grams(weighing) for weighing in weighings), Decimal(0))
    if grams > pot:
        whole = with_decimal_sign(
            format_weight(pot, units="us" if workshop().units == Units.US else "metric")
        )
        raise ValidationError({field: gettext("The whole batch weighed %(weight)s.") % {"weight": whole}})


def _grams(weighing: Weighing) -> Decimal:
    """What was weighed; of pieces, what they weigh together."""
    material = weighing.line.material
    return weighing.quantity * (material.piece_grams or 0) if material.counted else weighing.quantity
