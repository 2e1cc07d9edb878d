"""Bars that leave the shelf or are counted again. A ledger like stock's: reversible, never below zero."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext, ngettext

from batches.models import BarMovement, Cure, Jug
from batches.splitting import batter_of
from inventory.models import Kind, Lot, Material
from inventory.queries.made import lot_made
from inventory.services.made import make_lot, unmake_lot
from inventory.services.materials import create_material
from recipes.models import Destination, Stage
from shared.money import cost_of
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
REVERSIBLE = (*LEAVING, BarMovement.Kind.EMBEDS)

HUNDREDTH = Decimal("0.01")


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
    _check_count(cure, count)
    return _book(cure, -count, kind, key, by, reason)


@transaction.atomic
def make_embeds(
    *,
    cure: Cure,
    count: int,
    pieces: Decimal,
    key: UUID,
    by: User,
    material: Material | None = None,
    name: str = "",
    colour: str = "",
    piece_grams: Decimal | None = None,
    piece_length: Decimal | None = None,
) -> Lot:
    """Cuts up so many bars of a batch into pieces of an embed: a lot that holds what the bars held.

    `material` is the embed, or `name`, `colour`, `piece_grams` and `piece_length` (in mm) describe a new one.
    Sent twice with one key, it counts once. Raises ValidationError (fields 'count', 'pieces', 'material',
    'name', 'colour', 'piece_grams' and 'piece_length').
    """
    require_maker(by)
    cure = _locked(cure)
    if done := lot_made(_deed(key)):
        return done
    _check_count(cure, count)
    if not (pieces.is_finite() and pieces >= 1) or pieces % 1:
        raise ValidationError({"pieces": gettext("Make at least one piece, and whole ones.")})
    if material is None:
        said = {"name": name, "colour": colour, "piece_grams": piece_grams, "piece_length": piece_length}
        material = _new_embed(by, **said)
    if material.kind != Kind.EMBED:
        raise ValidationError({"material": gettext("%(material)s is no embed.") % {"material": material}})
    parts = list(_in_bars(cure, count))
    movement = _book(cure, -count, BarMovement.Kind.EMBEDS, key, by, material.name)
    return make_lot(
        material=material,
        quantity=pieces,
        parts=parts,
        cost=cost_of((held, lot.unit_cost) for lot, held in parts),
        key=_deed(key),
        by=by,
        at=movement.at,
        document=cure.batch.code,
    )


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
    """Reverses bars that were taken off. A second time gives back the first reversal.

    Raises NotReversible where they became embeds that were used since.
    """
    require_maker(by)
    cure = _locked(movement.cure)
    if done := BarMovement.objects.filter(reverses=movement).first():
        return done
    if movement.kind not in REVERSIBLE:
        raise ValidationError(gettext("Only bars that were taken off can be brought back."))
    if lot := lot_made(_deed(movement.key)):
        unmake_lot(lot=lot, reason=reason, by=by)
    return _book(cure, -movement.count, BarMovement.Kind.REVERSED, key, by, reason, reverses=movement)


def _deed(key: UUID) -> str:
    """What the ledger of stock calls the making of embeds."""
    return f"embeds {key}"


def _check_count(cure: Cure, count: int) -> None:
    if count < 1:
        raise ValidationError({"count": gettext("Take at least one bar.")})
    if count > cure.bars_left:
        words = ngettext("There is %(bars)s bar left.", "There are %(bars)s bars left.", cure.bars_left)
        raise ValidationError({"count": words % {"bars": cure.bars_left}})


def _new_embed(by: User, **said: Any) -> Material:
    if not said["name"].strip():
        raise ValidationError({"name": gettext("Choose an embed, or give a new one its name.")})
    return create_material(kind=Kind.EMBED, by=by, **said)


def _in_bars(cure: Cure, count: int) -> Iterator[tuple[Lot, Decimal]]:
    """What so many bars hold of each lot: their share of what went into and onto the mould."""
    lines = list(cure.batch.lines.prefetch_related("weighings__lot", "weighings__jug"))
    here = _in_mould(cure)
    in_mould = sum((jug.grams or Decimal(0) for jug in here), Decimal(0))
    moulded = in_mould / batter_of(lines) if cure.batch.frozen.get("split") else Decimal(1)
    bars = Decimal(count) / max(cure.bars_cut or 0, count)
    for line in lines:
        for weighing in line.weighings.all():
            if weighing.jug is None or weighing.jug in here:
                whole = line.stage in (Stage.JUG, Stage.TOP)
                held = weighing.quantity * bars * (1 if whole else moulded)
                if rounded := held.quantize(HUNDREDTH):
                    yield weighing.lot, rounded


def _in_mould(cure: Cure) -> list[Jug]:
    """The jugs that the bars come from: of a batch all of which went elsewhere, those not kept back."""
    filled = [jug for jug in cure.batch.jugs.all() if jug.grams]
    poured = [jug for jug in filled if jug.destination != Destination.KEPT]
    return [jug for jug in poured if jug.destination == Destination.MOULD] or poured


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
