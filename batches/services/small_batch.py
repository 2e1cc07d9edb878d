"""Batter that was kept back, poured as a small batch of its own."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext

from batches.frozen import FrozenLine, FrozenRecipe
from batches.models import Batch, Jug, Line
from batches.queries.kept import look_of
from batches.services.moment import moment
from batches.services.plan import lock_series, next_code
from batches.services.pour import pour
from batches.services.weighing import weigh
from inventory.models import Lot
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

MOST_BARS = 2000


@transaction.atomic
def pour_kept(
    *,
    lot: Lot,
    bars: int,
    key: UUID,
    by: User,
    at: datetime | None = None,
    grams: Decimal | None = None,
    stop_reason: str = "",
    words: str = "",
    photo: UploadedFile[bytes] | None = None,
) -> Batch:
    """Pours batter that was kept back as a batch with a number of its own; sent twice, it counts once.

    All of it, or `grams`. `at`, `stop_reason`, `words` and `photo` are those of a pour. It is of the version
    that the batter was made by, and judged by all that is in it.
    Raises what a pour raises, and ValidationError (fields 'bars', 'grams' and 'at').
    """
    require_maker(by)
    poured_at = moment(at)
    series = lock_series(timezone.localdate(poured_at).year)
    if sent_before := Batch.objects.filter(key=key).first():
        return sent_before
    jug = _jug(lot)
    lot = Lot.objects.select_for_update(of=("self",)).select_related("material").get(pk=lot.pk)
    grams = lot.on_hand if grams is None else grams
    _check(lot, jug, bars, grams, poured_at)
    batch = Batch.objects.create(
        code=next_code(series),
        version=jug.batch.version,
        key=key,
        planned_for=timezone.localdate(poured_at),
        planned_by=by,
        bars_planned=bars,
        frozen=_frozen(jug, lot, grams, bars).to_json(),
        picture=look_of(jug).to_json(),
        lye_mixed_at=jug.batch.lye_mixed_at,
    )
    figures = {"batch": batch.code, "lot": lot.code, "material": lot.material}
    what = gettext("Made %(batch)s of %(material)s, lot %(lot)s") % figures
    record(by=by, subject=batch, what=what)
    line = Line.objects.create(batch=batch, material=lot.material, position=0, planned=grams)
    weigh(line=line, lot=lot, quantity=grams, key=uuid5(key, "batter"), by=by, at=poured_at)
    return pour(batch=batch, key=key, by=by, at=at, stop_reason=stop_reason, words=words, photo=photo)


def _jug(lot: Lot) -> Jug:
    found = Jug.objects.select_related("batch__version").filter(lot=lot).first()
    if found is None:
        raise ValidationError(gettext("%(lot)s is not batter that was kept back.") % {"lot": lot.code})
    return found


def _check(lot: Lot, jug: Jug, bars: int, grams: Decimal, at: datetime) -> None:
    if not lot.on_hand:
        raise ValidationError(gettext("Nothing is left of %(material)s.") % {"material": lot.material})
    if not 1 <= bars <= MOST_BARS:
        words = gettext("It makes from 1 to %(most)s bars.")
        raise ValidationError({"bars": words % {"most": MOST_BARS}})
    if not (grams.is_finite() and grams > 0):
        raise ValidationError({"grams": gettext("Enter what the scale shows, more than zero.")})
    if grams > lot.on_hand:
        words = gettext("There are only %(left)s g of it.")
        raise ValidationError({"grams": words % {"left": lot.on_hand}})
    if jug.batch.poured_at and at < jug.batch.poured_at:
        words = gettext("It was kept back later than that, when %(batch)s was poured.")
        raise ValidationError({"at": words % {"batch": jug.batch.code}})


def _frozen(jug: Jug, lot: Lot, grams: Decimal, bars: int) -> FrozenRecipe:
    """The recipe of the batch that it comes from, with the batter in place of all that was weighed."""
    whole = FrozenRecipe.from_json(jug.batch.frozen)
    return replace(
        whole,
        lines=(FrozenLine.of(lot.material, grams, lot),),
        batter=grams,
        bars=bars,
        split=None,
        mould=None,
        mould_name="",
        cured_share=_cured_share(whole, jug, lot),
    )


def _cured_share(whole: FrozenRecipe, jug: Jug, lot: Lot) -> float | None:
    """What the cure leaves of a gram of it: of the batter as in the whole, of what was stirred in all."""
    if whole.cured_share is None or jug.grams is None:
        return None
    stirred_in = lot.quantity - jug.grams
    return (float(jug.grams) * whole.cured_share + float(stirred_in)) / float(lot.quantity)
