"""The workshop's moulds: writing them down, putting them away, and what each pour tells of its mould."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Final, TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.translation import gettext, gettext_noop

from recipes.cutting import CUT_SHAPES, cut_of
from recipes.models import Fill, Mould, Shape, Version
from shared.cuts import CutError
from shared.density import USUAL, DensityError, reading
from shared.moulds import MouldError, Vessel
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record
from soapshop.core.words import in_words

SIDES: Final = {
    Shape.LOAF: ("length", "width"),
    Shape.SLAB: ("length", "width"),
    Shape.TUBE: ("diameter",),
    Shape.CAVITIES: ("cavities", "millilitres"),
    Shape.OTHER: ("millilitres",),
}
"""What each shape needs beside its depth."""
MOST_MILLILITRES: Final = 300_000
_ASKED_AS: Final = {"columns": "bars", "height": "depth", "volume": "millilitres"}


class MouldFields(TypedDict, total=False):
    """All that may be said of a mould. Lengths are mm."""

    name: str
    shape: str
    length: Decimal | None
    width: Decimal | None
    depth: Decimal
    diameter: Decimal | None
    cavities: int | None
    millilitres: Decimal | None
    liner: Decimal
    bars: int
    rows: int
    trim: Decimal
    kerf: Decimal
    note: str


def create_mould(*, by: User, **fields: Unpack[MouldFields]) -> Mould:
    """Write down a mould. Raises ValidationError by field."""
    require_maker(by)
    mould = Mould()
    with transaction.atomic():
        _fill_in(mould, fields)
        _save(mould, what=gettext_noop("wrote down the mould %(name)s"), by=by)
    return mould


def update_mould(*, mould: Mould, by: User, **fields: Unpack[MouldFields]) -> Mould:
    """Change what is said of a mould; nothing is recorded where it is the same.

    What it was filled with is reckoned anew. Raises ValidationError by field, and for no field where a past
    fill could not have been with the new sides.
    """
    require_maker(by)
    with transaction.atomic():
        mould = Mould.objects.select_for_update().get(pk=mould.pk)
        before = _says(mould)
        _fill_in(mould, fields)
        if _says(mould) == before:
            return mould
        _check_past_fills(mould)
        _save(mould, what=gettext_noop("changed the mould %(name)s"), by=by)
    return mould


def archive_mould(*, mould: Mould, archived: bool, by: User) -> None:
    """Put a mould away, so that it is no longer offered, or bring it back. Nothing of it is lost."""
    require_maker(by)
    with transaction.atomic():
        mould = Mould.objects.select_for_update().get(pk=mould.pk)
        if mould.archived == archived:
            return
        mould.archived = archived
        mould.save(update_fields=["archived"])
        what = gettext("put away the mould %(name)s") if archived else gettext("brought back %(name)s")
        record(by=by, subject=mould, what=what % {"name": mould.name})


def note_fill(
    *, batch: str, version: Version, mould: Mould, grams: Decimal, height: Decimal, at: datetime
) -> Fill:
    """Keep how high a batch stood in a mould: so many grams, so many mm above its lined floor.

    Belongs into the transaction of a pour or of a correction to it. A batch counts once: noted again, it is
    put right. Raises ValidationError for `filled_height`.
    """
    with transaction.atomic():
        mould = Mould.objects.select_for_update().get(pk=mould.pk)
        fill = Fill.objects.filter(batch=batch).first() or Fill(batch=batch)
        fill.recipe, fill.mould, fill.grams, fill.height, fill.at = version.recipe, mould, grams, height, at
        try:
            fill.clean_fields(exclude=["recipe", "mould"])
        except ValidationError as error:
            raise ValidationError({"filled_height": error.messages}) from error
        problem = _problem(mould.vessel, fill)
        if problem:
            raise ValidationError({"filled_height": problem})
        fill.save()
    return fill


def forget_fill(*, batch: str) -> None:
    """Forget how high a batch stood, where its pour is undone."""
    Fill.objects.filter(batch=batch).delete()


def _says(mould: Mould) -> dict[str, object]:
    return {name: getattr(mould, name) for name in MouldFields.__annotations__}


def _fill_in(mould: Mould, fields: MouldFields) -> None:
    """Put in what is said, without what the shape has no use for, and check it."""
    for name, value in fields.items():
        setattr(mould, name, value)
    needed = SIDES.get(Shape(mould.shape), ()) if mould.shape in Shape else ()
    for name in {side for sides in SIDES.values() for side in sides}.difference(needed):
        setattr(mould, name, None)
    if mould.shape != Shape.SLAB:
        mould.rows = 1
    if mould.shape not in CUT_SHAPES:
        mould.liner = mould.trim = mould.kerf = Decimal(0)
    if mould.shape == Shape.CAVITIES:
        mould.bars = mould.cavities or 1
    mould.clean_fields(exclude=["bars"] if mould.shape == Shape.CAVITIES else None)
    nothing = [name for name in (*needed, "depth") if not (getattr(mould, name) or 0) > 0]
    if nothing:
        raise ValidationError({name: gettext("This must be more than nothing.") for name in nothing})
    _check_liner(mould)
    _check_measures(mould)


def _check_liner(mould: Mould) -> None:
    sides = [side for side in (mould.length, mould.width, mould.diameter) if side is not None]
    if mould.liner < 0:
        raise ValidationError({"liner": gettext("This cannot be less than nothing.")})
    if any(2 * mould.liner >= side for side in sides):
        raise ValidationError({"liner": gettext("So thick a liner leaves no room in the mould.")})


def _check_measures(mould: Mould) -> None:
    """Whether it holds something, and can be cut as it is said to be."""
    side = SIDES[Shape(mould.shape)][-1]
    try:
        vessel = mould.vessel
        if vessel.volume_ml > MOST_MILLILITRES:
            raise ValidationError({side: gettext("A mould may hold 300 litres at most.")})
        cut_of(mould, height=vessel.depth_mm, density=USUAL)
    except (CutError, MouldError) as error:
        field = side if error.field in ("area", "width") else _ASKED_AS.get(error.field, error.field)
        raise ValidationError({field: in_words(error.args[0])}) from error


def _check_past_fills(mould: Mould) -> None:
    for fill in mould.fills.all():
        if _problem(mould.vessel, fill):
            words = gettext(
                "Batch %(batch)s stood %(height)s mm high in this mould, which these measures do not allow. "
                "If this is another mould, write it down as a new one."
            )
            raise ValidationError(words % {"batch": fill.batch, "height": fill.height})


def _problem(vessel: Vessel, fill: Fill) -> str:
    """Why a fill cannot have been, in words; empty where it can."""
    height, depth = float(fill.height), round(vessel.depth_mm, 1)
    if not 0 < height <= depth:
        words = gettext(
            "The batter stands higher than nothing and at most %(depth)s mm, as deep as the mould."
        )
        return words % {"depth": f"{depth:g}"}
    try:
        reading(float(fill.grams), vessel.volume_at(height))
    except DensityError as error:
        return in_words(error.args[0])
    return ""


def _save(mould: Mould, *, what: str, by: User) -> None:
    """Save; the database has the last word on a name that two people give at once."""
    try:
        with transaction.atomic():
            mould.save()
    except IntegrityError as clash:
        words = gettext("There is a mould called %(name)s already.")
        raise ValidationError({"name": words % {"name": mould.name}}) from clash
    record(by=by, subject=mould, what=gettext(what) % {"name": mould.name})
