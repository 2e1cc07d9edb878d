"""Logging a pour: stock falls, the recipe is frozen as poured, the cure record opens, all or nothing.

Everything happens in one transaction, named by a key made on the phone. Sent twice, sent by two phones, or
cut off by a crash, a pour counts once or not at all.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import Count, Max, Q
from django.utils import timezone
from django.utils.translation import gettext

from batches.frozen import FrozenRecipe
from batches.models import Batch, Cure, Line, State, Weighing
from batches.safety import assess_pot, pot_of
from batches.scent import over_limit, scented_with
from batches.services.behaviour import tell_fragrances
from batches.services.cure import add_note
from batches.services.errors import AlreadyCut, FragranceOver, NotSafe, StillToWeigh
from batches.services.jugs import fill_as_planned
from batches.services.kept_back import keep_back, take_back_kept
from batches.services.moment import moment
from batches.services.picture import as_poured
from batches.services.plan import check_open, lock
from batches.services.shares import short_of
from batches.services.told_recipe import tell_fill
from batches.splitting import Splitting, splitting
from inventory.models import Certificate, Kind, Movement
from inventory.queries import current_certificates, lots_to_use
from inventory.services.ledger import Taking, reverse_all, take_all
from recipes.models import Stage, Version
from recipes.services import mark_poured
from recipes.services.moulds import forget_fill
from recipes.services.told import tell_browned
from shared.money import cost_of, fifo
from shared.saponification import SafetyRange, Verdict
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

# A batch is usually cut the day after it was poured (common practice, no source). Until it is cut, the ready
# day is reckoned from then.
DAYS_TO_CUT = 1

CENT = Decimal("0.01")


@transaction.atomic
def pour(
    *,
    batch: Batch,
    key: UUID,
    by: User,
    at: datetime | None = None,
    as_planned: bool = False,
    stop_reason: str = "",
    words: str = "",
    photo: UploadedFile[bytes] | None = None,
    filled_height: Decimal | None = None,
) -> Batch:
    """Logs a batch as poured.

    `at` is when it was poured, for a pour that is logged afterwards; now where it is not given.
    `as_planned` takes for each line that has no weight yet what was planned, out of the lots first to expire.
    `words` and `photo` become the first note of the cure. `filled_height` is how high the batter stood in the
    mould, in mm. `stop_reason` is an owner's, for a verdict of stop.

    Raises NotOpen, StillToWeigh, NotSafe, FragranceOver, NotEnough, FormulaError where acid takes up all the
    alkali, and ValidationError (fields 'at', 'photo' and 'filled_height').
    """
    require_maker(by)
    batch = lock(batch)
    if batch.pour_key == key:
        return batch
    check_open(batch)
    poured_at = _moment(at)
    if as_planned:
        _weigh_as_planned(batch, poured_at, by)
        batch.lye_mixed_at = batch.lye_mixed_at or poured_at
        fill_as_planned(batch=batch, at=poured_at, by=by, key=key)
    lines, frozen = _lines(batch), FrozenRecipe.from_json(batch.frozen)
    split = splitting(frozen, lines, batch.jugs.all())
    _check_all_weighed(lines, split)
    safety = assess_pot(frozen, pot_of(frozen, lines))
    _check_safe(safety, stop_reason, by)
    certificates = _certificates(lines, timezone.localdate(poured_at))
    _check_fragrance(batch, frozen, lines, split, certificates)
    _take_from_stock(batch, lines, poured_at, by)
    batch.poured_at, batch.poured_by, batch.pour_key = poured_at, by, key
    batch.stop_reason = stop_reason if safety.verdict == Verdict.STOP else ""
    batch.picture = as_poured(batch, split).to_json()
    _write_down(batch, lines, frozen.as_poured(lines, safety, certificates), safety)
    if split:
        keep_back(batch=batch, lines=lines, splitting=split, by=by)
    tell_fill(batch=batch, lines=lines, split=split, height=filled_height, at=poured_at)
    _tell_recipe(batch.version)
    cure = _open_cure(batch, frozen.cure_days, filled_height)
    if words or photo:
        add_note(cure=cure, words=words, photo=photo, key=uuid4(), by=by, at=poured_at)
    tell_fragrances(batch=batch)
    record(by=by, subject=batch, what=gettext("Poured %(batch)s") % {"batch": batch.code})
    return batch


@transaction.atomic
def undo_pour(*, batch: Batch, reason: str, by: User) -> Batch:
    """Puts everything that a pour took back into its lots and closes the cure record. Raises AlreadyCut."""
    require_maker(by)
    batch = lock(batch)
    if batch.state == State.UNDONE:
        return batch
    if batch.state != State.POURED:
        words = gettext("%(batch)s cannot be undone: it is %(state)s.")
        raise AlreadyCut(words % {"batch": batch.code, "state": batch.get_state_display().lower()})
    take_back_kept(batch=batch, reason=reason, by=by)
    forget_fill(batch=batch.code)
    tell_browned(batch=batch.code, turned=())
    reverse_all(movements=Movement.objects.filter(weighing__line__batch=batch), reason=reason, by=by)
    Cure.objects.filter(batch=batch).update(ended_at=timezone.now())
    batch.state = State.UNDONE
    batch.closed_reason = reason
    batch.save(update_fields=["state", "closed_reason"])
    _tell_recipe(batch.version)
    tell_fragrances(batch=batch)
    done = gettext("Undid the pour of %(batch)s: %(reason)s") % {"batch": batch.code, "reason": reason}
    record(by=by, subject=batch, what=done)
    return batch


def _lines(batch: Batch) -> list[Line]:
    return list(
        batch.lines.select_related("material").prefetch_related(
            "weighings__lot__material", "weighings__lot__delivery__supplier"
        )
    )


def _moment(at: datetime | None) -> datetime:
    if at is not None and at > timezone.now():
        raise ValidationError({"at": gettext("This moment has not come yet.")})
    return moment(at)


def _weigh_as_planned(batch: Batch, at: datetime, by: User) -> None:
    lines = _lines(batch)
    waiting = [line for line in lines if not line.done and line.stage != Stage.JUG]
    weighed = _weighed_by_lot(lines)
    lots = lots_to_use([line.material_id for line in waiting], timezone.localdate(at))
    weighings = []
    for line in waiting:
        missing = line.planned - sum((weighing.quantity for weighing in line.weighings.all()), Decimal(0))
        held = lots.get(line.material_id, [])
        free = [(lot, max(lot.on_hand - weighed[lot.pk], Decimal(0))) for lot in held]
        portions, short = fifo(free, max(missing, Decimal(0)))
        if short > 0:
            raise short_of(line, held, missing, short)
        weighings += [
            Weighing(line=line, lot=lot, quantity=take, at=at, by=by, key=uuid4()) for lot, take in portions
        ]
    Weighing.objects.bulk_create(weighings)
    batch.lines.filter(done=False).exclude(stage=Stage.JUG).update(done=True)


def _weighed_by_lot(lines: list[Line]) -> defaultdict[int, Decimal]:
    """Grams that the batch has weighed out of each lot, which stock does not know of yet."""
    weighed: defaultdict[int, Decimal] = defaultdict(Decimal)
    for line in lines:
        for weighing in line.weighings.all():
            weighed[weighing.lot_id] += weighing.quantity
    return weighed


def _check_all_weighed(lines: list[Line], split: Splitting | None) -> None:
    waiting = [line.material.name for line in lines if not line.done and line.stage != Stage.JUG]
    waiting += [card.jug.name for card in split.open] if split else []
    if waiting:
        words = gettext("Still to weigh: %(materials)s.")
        raise StillToWeigh(words % {"materials": ", ".join(waiting)})


def _certificates(lines: list[Line], day: date) -> dict[int, Certificate]:
    fragrances = {line.material_id for line in lines if line.kind == Kind.FRAGRANCE}
    fragrances |= {material.pk for material, _ in scented_with(lines)}
    return current_certificates(fragrances, day) if fragrances else {}


def _check_fragrance(
    batch: Batch,
    frozen: FrozenRecipe,
    lines: list[Line],
    split: Splitting | None,
    certificates: dict[int, Certificate],
) -> None:
    mould = batch.version.mould
    across = mould is None or mould.is_cut_across
    if words := over_limit(frozen, lines, split, certificates, cut_across=across):
        raise FragranceOver(words)


def _check_safe(safety: SafetyRange, stop_reason: str, by: User) -> None:
    if safety.verdict == Verdict.STOP and not (stop_reason and by.is_owner):
        raise NotSafe(safety)


def _take_from_stock(batch: Batch, lines: list[Line], at: datetime, by: User) -> None:
    weighings = [weighing for line in lines for weighing in line.weighings.all()]
    movements = take_all(
        takings=[
            Taking(weighing.lot, weighing.quantity, f"weighing-{weighing.pk}") for weighing in weighings
        ],
        kind=Movement.Kind.POURED,
        document=gettext("batch %(batch)s") % {"batch": batch.code},
        by=by,
        at=at,
    )
    for weighing, movement in zip(weighings, movements, strict=True):
        weighing.movement = movement
    Weighing.objects.bulk_update(weighings, ["movement"])


def _write_down(batch: Batch, lines: list[Line], poured: FrozenRecipe, safety: SafetyRange) -> None:
    batch.state = State.POURED
    batch.lye_mixed_at = batch.lye_mixed_at or batch.poured_at
    batch.frozen = poured.to_json()
    batch.superfat = _per_cent(safety.nominal)
    batch.superfat_likely_low = _per_cent(safety.likely_low)
    batch.superfat_likely_high = _per_cent(safety.likely_high)
    batch.superfat_worst = _per_cent(safety.worst_low)
    batch.verdict = safety.verdict.value
    used = (weighing for line in lines for weighing in line.weighings.all())
    batch.cost = cost_of((weighing.quantity, weighing.lot.unit_cost) for weighing in used).quantize(CENT)
    batch.save()


def _tell_recipe(version: Version) -> None:
    """Recipes know nothing of batches: they are told how many pours stand, and when it was last poured.

    A version that was ever poured, undone or not, stays closed to changes.
    """
    poured = version.batches.exclude(poured_at=None)
    counted = poured.aggregate(pours=Count("pk", filter=~Q(state=State.UNDONE)), last=Max("poured_at"))
    mark_poured(version=version, pours=counted["pours"], last_poured_at=counted["last"])


def _per_cent(value: float) -> Decimal:
    return Decimal(str(round(value, 3)))


def _open_cure(batch: Batch, cure_days: int, filled_height: Decimal | None) -> Cure:
    day = timezone.localdate(batch.poured_at)
    return Cure.objects.create(
        batch=batch,
        cure_days=cure_days,
        filled_height=filled_height,
        started_on=day,
        ready_on=day + timedelta(days=DAYS_TO_CUT + cure_days),
    )
