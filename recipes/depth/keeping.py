"""How long the bars of a recipe keep before their fats turn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from django.utils.translation import gettext

from inventory.models import Kind
from recipes.formulation import WorkedOut
from recipes.queries import Sheet
from recipes.said import Said, said
from shared.ageing import Level, OldLot, ageing
from shared.explained import Statement
from shared.profile import Blend
from shared.words import Phrase
from soapshop.core.templatetags.soapshop import short_day
from soapshop.core.words import in_words

CHIPS = {Level.KEEPS_WELL: "safe", Level.WITHIN_THE_YEAR: "quiet", Level.TURNS_EARLY: "watch"}


@dataclass(frozen=True, slots=True)
class Keeping:
    """The level in words, the kind of chip that shows it, and why."""

    words: str
    chip: str
    reasons: tuple[Said, ...]


def keeping_of(sheet: Sheet, blend: Blend, *, ready_on: date) -> Keeping | None:
    """From the fats whose acids are known, the superfat as weighed, an antioxidant, and the lots to take
    from. None where the acids of no fat are known."""
    if not blend.acids:
        return None
    found = ageing(
        blend.acids,
        superfat=sheet.worked_out.safety.nominal,
        antioxidant=_antioxidant(sheet.worked_out),
        lots=_lots(sheet),
        ready_on=ready_on,
    )
    reasons = tuple(said(_with_day(reason)) for reason in found.reasons)
    return Keeping(in_words(found.level.label), CHIPS[found.level], reasons)


def _with_day(reason: Statement) -> Statement:
    """The day as pages write days, where the reason names one."""
    because = reason.because
    if isinstance(because, Phrase) and "day" in because.figures:
        day = date.fromisoformat(str(because.figures["day"]))
        because = Phrase(because.pattern, day=short_day(day))
    return replace(reason, because=because)


def _antioxidant(worked_out: WorkedOut) -> str:
    """Name of the first additive or fat that is one: as the stockroom says, else by the INCI name of an
    additive, tocopherol (vitamin E) or rosemary extract."""
    for line in worked_out.of(Kind.ADDITIVE, Kind.FAT):
        if line.material.antioxidant:
            return line.material.name
    for line in worked_out.of(Kind.ADDITIVE):
        inci = line.material.inci_name.lower()
        if "tocopher" in inci or ("rosmarinus" in inci and "extract" in inci):
            return line.material.name
    return ""


def _lots(sheet: Sheet) -> Iterator[OldLot]:
    """The lots that the fats would come from, as far as they have a best-before."""
    for need in sheet.needs:
        for lot, _ in need.portions:
            if need.line.kind == Kind.FAT and lot.best_before:
                name = gettext("%(fat)s (lot %(lot)s)") % {"fat": need.material, "lot": lot.code}
                yield OldLot(name, lot.best_before)
