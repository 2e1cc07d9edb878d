"""Bars that leave the shelf or are counted again. A ledger like stock's: reversible, never below zero."""

from __future__ import annotations

from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext, ngettext

from batches.models import BarMovement, Cure
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

MOST_BARS = 2000  # of one batch; as many as a recipe may plan

LEAVING = (
    BarMovement.Kind.SOLD,
    BarMovement.Kind.GIVEN,
    BarMovement.Kind.SAMPLE,
    BarMovement.Kind.WASTED,
)


@transaction.atomic
def take_bars(
    *, cure: Cure, count: int, kind: BarMovement.Kind, key: UUID, by: User, reason: str = ""
) -> BarMovement:
    """Takes bars off rack or shelf. Sent twice with one key, it counts once.

    Raises ValidationError (field 'count') where there are not so many.
    """
    require_maker(by)
    cure = _locked(cure)
    if sent_before := BarMovement.objects.filter(key=key).first():
        return sent_before
    if count < 1:
        raise ValidationError({"count": gettext("Take at least one bar.")})
    if count > cure.bars_left:
        words = ngettext("There is %(bars)s bar left.", "There are %(bars)s bars left.", cure.bars_left)
        raise ValidationError({"count": words % {"bars": cure.bars_left}})
    return _book(cure, -count, kind, key, by, reason)


@transaction.atomic
def recount(*, cure: Cure, counted: int, reason: str, key: UUID, by: User) -> BarMovement | None:
    """Sets the bars left to what was counted, with a reason; None where the count was right.

    It may be more than were noted at the cut: a slip in that number is put right here.

    Raises ValidationError (field 'counted').
    """
    require_maker(by)
    cure = _locked(cure)
    if sent_before := BarMovement.objects.filter(key=key).first():
        return sent_before
    if not 0 <= counted <= MOST_BARS:
        raise ValidationError({"counted": gettext("Count from 0 to %(most)s bars.") % {"most": MOST_BARS}})
    if counted == cure.bars_left:
        return None
    return _book(cure, counted - cure.bars_left, BarMovement.Kind.CORRECTED, key, by, reason)


@transaction.atomic
def bring_back(*, movement: BarMovement, key: UUID, by: User, reason: str) -> BarMovement:
    """Reverses bars that were taken off. A second time gives back the first reversal."""
    require_maker(by)
    cure = _locked(movement.cure)
    if done := BarMovement.objects.filter(reverses=movement).first():
        return done
    if movement.kind not in LEAVING:
        raise ValidationError(gettext("Only bars that were taken off can be brought back."))
    return _book(cure, -movement.count, BarMovement.Kind.REVERSED, key, by, reason, reverses=movement)


def _locked(cure: Cure) -> Cure:
    locked = Cure.objects.select_for_update(of=("self",)).select_related("batch").get(pk=cure.pk)
    if not locked.is_cut:
        raise ValidationError(
            gettext("%(batch)s has no bars before it is cut.") % {"batch": locked.batch.code}
        )
    return locked


def _book(
    cure: Cure,
    count: int,
    kind: BarMovement.Kind,
    key: UUID,
    by: User,
    reason: str,
    reverses: BarMovement | None = None,
) -> BarMovement:
    cure.bars_left += count
    cure.save(update_fields=["bars_left"])
    movement = BarMovement.objects.create(
        cure=cure, count=count, kind=kind, key=key, by=by, reason=reason, reverses=reverses
    )
    words = ngettext(
        "%(what)s: %(bars)s bar of %(batch)s", "%(what)s: %(bars)s bars of %(batch)s", abs(count)
    )
    figures = {"what": movement.get_kind_display(), "bars": abs(count), "batch": cure.batch.code}
    record(by=by, subject=cure.batch, what=words % figures)
    return movement
