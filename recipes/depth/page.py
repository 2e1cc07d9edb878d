"""All that stands behind a recipe, put together for its page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.models import Kind
from inventory.queries import SapDoubt, sap_doubt
from recipes.contents import contents_of, parts_of
from recipes.depth.fatty_acids import FattyAcids, fatty_acids_of
from recipes.depth.finished import Finished, finished_of
from recipes.depth.keeping import Keeping, keeping_of
from recipes.formulation import WorkedOut
from recipes.models import Process
from recipes.queries import Sheet
from recipes.said import Said, said
from shared.cautions import Additive, cook_cautions, lye_cautions, share_cautions
from shared.character import character
from shared.chemistry import AlkaliKind
from shared.liquids import reference_liquids
from shared.profile import Blend, blend_of


@dataclass(frozen=True, slots=True)
class Depth:
    """`does` is what the blend will do, `minding` what to mind when its lye is mixed, `doubts` are
    saponification values that cannot be right; `keeping` is None where no fatty acids are known."""

    doubts: tuple[SapDoubt, ...]
    does: tuple[Said, ...]
    acids: FattyAcids
    keeping: Keeping | None
    finished: Finished
    minding: tuple[Said, ...]


def depth_of(sheet: Sheet, *, bar_colour: str, cure_days: int, day: date) -> Depth:
    """What is behind a sheet, for bars that are cut on that day. No queries."""
    worked_out = sheet.worked_out
    blend = blend_of(parts_of(worked_out))
    return Depth(
        doubts=_doubts(worked_out),
        does=_does(worked_out, blend),
        acids=fatty_acids_of(worked_out, blend),
        keeping=keeping_of(sheet, blend, ready_on=day + timedelta(days=cure_days)),
        finished=finished_of(worked_out, bar_colour=bar_colour),
        minding=_minding(worked_out),
    )


def _doubts(worked_out: WorkedOut) -> tuple[SapDoubt, ...]:
    found = (sap_doubt(line.material, line.lot) for line in worked_out.of(Kind.FAT))
    return tuple(doubt for doubt in found if doubt)


def _does(worked_out: WorkedOut, blend: Blend) -> tuple[Said, ...]:
    alkalis = worked_out.formulation.alkalis
    potash = sum(alkali.mol for alkali in alkalis if alkali.kind is AlkaliKind.KOH)
    potassium = 100 * potash / sum(alkali.mol for alkali in alkalis)
    statements = character(blend.groups, potassium=potassium, unknown=blend.unknown_share)
    return tuple(said(statement) for statement in statements)


def _minding(worked_out: WorkedOut) -> tuple[Said, ...]:
    made = worked_out.formulation
    statements = lye_cautions(
        estimate=worked_out.heat,
        alkalis=made.alkalis,
        concentration=made.lye_concentration,
        for_lye=[portion.liquid for portion in made.liquids if not portion.at_trace],
        at_trace=[portion.liquid for portion in made.liquids if portion.at_trace],
        acids=contents_of(worked_out).acids,
    )
    cooking = cook_cautions() if worked_out.design.process == Process.HOT else ()
    unusual = share_cautions(_additives(worked_out))
    return tuple(said(statement) for statement in (*statements, *cooking, *unusual))


def _additives(worked_out: WorkedOut) -> Iterator[Additive]:
    """Those of which the catalogue knows how much is usual."""
    for line in worked_out.of(Kind.ADDITIVE):
        known = reference_liquids().get(line.material.reference)
        if known and known.usual:
            yield Additive(line.material.name, float(line.share), known.usual)
