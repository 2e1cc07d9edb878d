"""Planning a batch: its number, its card and its frozen recipe."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext

from batches.frozen import freeze
from batches.models import Batch, Jug, Line, NumberSeries, State
from batches.services.errors import FragranceOver, NotOpen
from inventory.models import Certificate, Kind, Lot
from inventory.queries import current_certificates, lots_to_use
from recipes.formulation import Design, Size, WorkedOut, design_of, work_out
from recipes.models import Version
from recipes.picture import picture_of
from recipes.queries import densities_of
from recipes.scent import Scent, scent_of
from recipes.splitting import Split
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.queries import workshop
from soapshop.core.services.history import record


@dataclass(frozen=True, slots=True)
class Plan:
    """A version worked out to a size with the lots it would be poured from and the certificates of its
    fragrances, by material id, and what is found of them in its bars."""

    version: Version
    design: Design
    worked_out: WorkedOut
    lots: Mapping[int, Lot]
    certificates: Mapping[int, Certificate]
    scent: Scent | None


def draw_up(version: Version, size: Size, day: date) -> Plan:
    """Works a version out for a day, with the certificates of the lots to use first. Writes nothing.

    `version` with its ingredients fetched. Raises recipes.formulation.DesignError where it cannot be poured.
    """
    design = design_of(version)
    to_use = lots_to_use([material.pk for material in design.materials], day)
    lots = {material: held[0] for material, held in to_use.items() if held}
    on_hand = {material: sum((lot.on_hand for lot in held), Decimal(0)) for material, held in to_use.items()}
    densities = densities_of(design.mould, version.recipe)
    worked_out = work_out(
        design, workshop=workshop(), lots=lots, size=size, on_hand=on_hand, densities=densities
    )
    fragrances = [line.material.pk for line in worked_out.of(Kind.FRAGRANCE)]
    certificates = current_certificates(fragrances, day) if fragrances else {}
    return Plan(version, design, worked_out, lots, certificates, scent_of(worked_out, certificates))


@transaction.atomic
def plan_batch(
    *, version: Version, size: Size, planned_for: date, key: UUID, by: User, code: str = "", note: str = ""
) -> Batch:
    """Puts a batch on the list of pours. Sent twice with one key, it counts once.

    Raises ValidationError for a code that exists (field 'code'), DesignError for a recipe that cannot be
    worked out, FragranceOver where a bar would hold more fragrance than is certified.
    """
    require_maker(by)
    series = lock_series(planned_for.year)
    if sent_before := Batch.objects.filter(key=key).first():
        return sent_before
    plan = draw_up(version, size, planned_for)
    if plan.scent and plan.scent.refusals:
        raise FragranceOver(plan.scent.refused_words)
    batch = Batch.objects.create(
        code=_free_code(code) if code else next_code(series),
        version=version,
        key=key,
        planned_for=planned_for,
        planned_by=by,
        bars_planned=plan.worked_out.bars,
        note=note,
        frozen=freeze(
            version=version,
            design=plan.design,
            worked_out=plan.worked_out,
            lots=plan.lots,
            certificates=plan.certificates,
            workshop=workshop(),
        ).to_json(),
        picture=picture_of(plan.worked_out, bar_colour=version.bar_colour).to_json(),
    )
    Line.objects.bulk_create(
        Line(
            batch=batch,
            material=line.material,
            position=position,
            planned=line.grams,
            stage=line.part.stage,
        )
        for position, line in enumerate(plan.worked_out.weighed_lines)
    )
    Jug.objects.bulk_create(_jugs(batch, plan.worked_out.split))
    record(
        by=by,
        subject=batch,
        what=gettext("Planned %(batch)s, %(version)s") % {"batch": batch.code, "version": version},
    )
    return batch


@transaction.atomic
def drop_batch(*, batch: Batch, reason: str, by: User) -> Batch:
    """Takes a batch that was not poured off the list; its number stays used."""
    require_maker(by)
    batch = lock(batch)
    check_open(batch)
    batch.state = State.DROPPED
    batch.closed_reason = reason
    batch.save(update_fields=["state", "closed_reason"])
    words = gettext("Dropped %(batch)s: %(reason)s") % {"batch": batch.code, "reason": reason}
    record(by=by, subject=batch, what=words)
    return batch


def lock(batch: Batch) -> Batch:
    """The batch as it is now, locked until the transaction ends."""
    return Batch.objects.select_for_update().get(pk=batch.pk)


def check_open(batch: Batch) -> None:
    """Raises NotOpen where a batch has been poured, dropped or undone."""
    if not batch.is_open:
        words = gettext("%(batch)s is no longer open: it is %(state)s.")
        raise NotOpen(words % {"batch": batch, "state": batch.get_state_display().lower()})


def _jugs(batch: Batch, split: Split | None) -> list[Jug]:
    return [
        Jug(
            batch=batch,
            name=jug.design.name,
            position=position,
            planned=jug.batter,
            destination=jug.design.destination,
            colour=jug.design.colour,
        )
        for position, jug in enumerate(split.jugs if split else ())
    ]


def _free_code(code: str) -> str:
    if Batch.objects.filter(code__iexact=code).exists():
        raise ValidationError({"code": gettext("There is a batch %(batch)s already.") % {"batch": code}})
    return code


def lock_series(year: int) -> NumberSeries:
    """The year's numbers, locked: two plans at once, or one sent twice, come one after the other."""
    NumberSeries.objects.get_or_create(year=year)
    return NumberSeries.objects.select_for_update().get(year=year)


def next_code(series: NumberSeries) -> str:
    """The next number of the year, such as 26-0147; numbers that a maker gave by hand are passed over."""
    while True:
        series.last += 1
        code = f"{series.year % 100:02d}-{series.last:04d}"
        if not Batch.objects.filter(code=code).exists():
            series.save(update_fields=["last"])
            return code
