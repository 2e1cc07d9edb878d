"""Two versions as lines for `shared.compare`, and its rows in words. No queries: sheets are handed in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from django.utils.translation import gettext, ngettext

from inventory.models import Kind
from recipes.formulation import WeighLine, WorkedOut
from recipes.models import Version
from recipes.queries import Sheet
from shared.compare import Change, Line, Row, compare
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import number, percent, trimmed, weight
from soapshop.core.words import in_words

TENTH = Decimal("0.1")
CENT = Decimal("0.01")
GRAM = Decimal(1)
PER_KILO = 1000
GRAMS, PER_CENT = "g", "%"
TIE = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Side:
    """A version to compare, and its sheet; `problem` says why it has none."""

    version: Version
    sheet: Sheet | None
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Compared:
    """A row as it is read: both figures, and in a few words what changed."""

    name: str
    before: str
    after: str
    words: str
    same: bool


def rows_by_part(before: Side, after: Side, workshop: Workshop) -> list[tuple[str, list[Compared]]]:
    """The rows of two versions in parts with their names, the weights where both can be worked out."""
    if before.sheet and after.sheet:
        old, new = _of_sheet(before.sheet, workshop), _of_sheet(after.sheet, workshop)
    else:
        old, new = [], []
    rows = compare([*old, *_of_version(before.version)], [*new, *_of_version(after.version)])
    return [
        (part, [_in_words(row, workshop) for row in found])
        for part, found in groupby(rows, lambda row: row.part)
    ]


def _of_sheet(sheet: Sheet, workshop: Workshop) -> list[Line]:
    made = sheet.worked_out
    whole = gettext("The whole")
    return [
        *(Line(gettext("Fats"), *_share(line), PER_CENT) for line in made.of(Kind.FAT)),
        *_alkali_and_liquid(made),
        *_additions(made),
        *_superfat(made),
        Line(whole, gettext("Weight of all fats"), made.fat_grams.normalize(), GRAMS),
        Line(whole, gettext("Cost a bar"), _rounded(sheet.cost.bar, CENT), workshop.currency),
    ]


def _of_version(version: Version) -> list[Line]:
    whole = gettext("The whole")
    return [
        Line(whole, gettext("Bars"), Decimal(version.bars)),
        Line(whole, gettext("Cure"), Decimal(version.cure_days), gettext("days")),
    ]


def _alkali_and_liquid(made: WorkedOut) -> Iterator[Line]:
    """By the weight of the fats, so that batches of two sizes can be compared."""
    part = gettext("Alkali and liquid, to 1 kg of fats")
    for line in made.of(Kind.ALKALI, Kind.LIQUID):
        yield Line(part, line.material.name, _per_kilo(line, made), GRAMS)


def _additions(made: WorkedOut) -> Iterator[Line]:
    scent, packaging = gettext("Scent, colour, additives, of the fats"), gettext("Packaging")
    for line in made.of(Kind.FRAGRANCE, Kind.COLOUR, Kind.ADDITIVE):
        yield Line(scent, *_share(line), PER_CENT)
    for line in made.of(Kind.PACKAGING):
        yield Line(packaging, *_share(line), gettext("a bar"))


def _superfat(made: WorkedOut) -> Iterator[Line]:
    part, safety = gettext("Superfat and lye"), made.safety
    ends = {"low": number(safety.likely_low, 1), "high": percent(safety.likely_high, 1)}
    yield Line(part, gettext("Superfat aimed at"), made.design.superfat.normalize(), PER_CENT)
    yield Line(part, gettext("Superfat, likely"), gettext("%(low)s to %(high)s") % ends)
    yield Line(part, gettext("At the very worst"), _rounded(safety.worst_low, TENTH), PER_CENT)
    yield Line(part, gettext("How safe"), in_words(safety.verdict).capitalize())
    concentration = _rounded(made.formulation.lye_concentration, TENTH)
    yield Line(part, gettext("Lye concentration"), concentration, PER_CENT)


def _share(line: WeighLine) -> tuple[str, Decimal]:
    return line.material.name, line.share.normalize()


def _per_kilo(line: WeighLine, made: WorkedOut) -> Decimal:
    return _rounded(PER_KILO * line.exact / float(made.fat_grams), GRAM)


def _rounded(value: float | Decimal, step: Decimal) -> Decimal:
    return Decimal(str(round(float(value), 6))).quantize(step).normalize()


def _in_words(row: Row, workshop: Workshop) -> Compared:
    return Compared(
        name=row.name,
        before=_figure(row.before, workshop),
        after=_figure(row.after, workshop),
        words=_change(row, workshop),
        same=row.change is Change.SAME,
    )


def _figure(line: Line | None, workshop: Workshop) -> str:
    if line is None:
        return gettext("none")
    return line.value if isinstance(line.value, str) else _with_unit(line.value, line.unit, workshop)


def _with_unit(value: Decimal, unit: str, workshop: Workshop) -> str:
    if unit == GRAMS:
        return weight(value, workshop)
    return f"{trimmed(value)}{TIE}{unit}" if unit else trimmed(value)


def _change(row: Row, workshop: Workshop) -> str:
    """What became of a line."""
    fixed = {Change.SAME: gettext("same"), Change.GAINED: gettext("new"), Change.LOST: gettext("gone")}
    if row.change in fixed:
        return fixed[row.change]
    if row.difference is None or row.after is None:
        return gettext("changed")
    amount = _amount(abs(row.difference), row.after.unit, workshop)
    words = gettext("%(amount)s more") if row.difference > 0 else gettext("%(amount)s less")
    return words % {"amount": amount}


def _amount(difference: Decimal, unit: str, workshop: Workshop) -> str:
    """A difference of shares is in points: 5 % more could be taken for a twentieth more."""
    if unit != PER_CENT:
        return _with_unit(difference, unit, workshop)
    words = ngettext("%(points)s point", "%(points)s points", math.ceil(difference))
    return words % {"points": trimmed(difference)}
