"""Two versions as lines for `shared.compare`, and its rows in words. No queries: sheets are handed in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from django.utils.translation import gettext, ngettext

from inventory.models import Kind
from recipes.design import Design, design_of
from recipes.formulation import WeighLine, WorkedOut
from recipes.models import Destination, SizeBy, Version
from recipes.portions import PortionDesign
from recipes.queries import Sheet
from shared.compare import Change, Line, Row, compare
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import number, percent, trimmed, weight
from soapshop.core.words import in_words

TENTH = Decimal("0.1")
CENT = Decimal("0.01")
GRAM = Decimal(1)
PER_KILO = 1000
GRAMS, PER_CENT, COLOUR = "g", "%", "colour"
TIE = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Side:
    """A version to compare, and its sheet; `problem` says why it has none."""

    version: Version
    sheet: Sheet | None
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Compared:
    """A row as it is read: both figures, and in a few words what changed. A figure may be a colour."""

    name: str
    before: str
    after: str
    words: str
    same: bool
    is_colour: bool


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
        *_shares(made),
    ]


def _of_version(version: Version) -> list[Line]:
    whole, design = gettext("The whole"), design_of(version)
    return [
        Line(whole, gettext("Bars"), Decimal(version.bars)),
        Line(whole, gettext("Cure"), Decimal(version.cure_days), gettext("days")),
        *_mould(design),
        *(line for one in design.portions for line in _portion(one, design, version.bar_colour)),
    ]


def _mould(design: Design) -> Iterator[Line]:
    mould, name = design.mould, gettext("Mould")
    if mould is None:
        return
    sides = {"length": trimmed(mould.length), "width": trimmed(mould.width)}
    words = mould.kept.name if mould.kept else gettext("%(length)s × %(width)s mm") % sides
    if design.size_by == SizeBy.MOULD:
        figures = {"mould": words, "height": trimmed(mould.height)}
        words = gettext("%(mould)s, filled %(height)s mm high") % figures
    yield Line(gettext("The whole"), name, words)


def _shares(made: WorkedOut) -> Iterator[Line]:
    """Of the batter before anything goes into portions, so that all ways to say it can be compared."""
    for jug in made.split.jugs if made.split else ():
        whole = made.split.batter if made.split else Decimal(1)
        share = _rounded(100 * jug.batter / whole, TENTH)
        yield Line(_part_of(jug.design), gettext("Share of the batter"), share, PER_CENT)


def _portion(portion: PortionDesign, design: Design, natural: str) -> Iterator[Line]:
    part, scents = _part_of(portion), design.of(Kind.FRAGRANCE)
    where = portion.other_mould.name if portion.other_mould else str(portion.destination.label)
    yield Line(part, gettext("Colour"), portion.looks(natural), COLOUR)
    yield Line(part, gettext("Poured as"), in_words(portion.technique.label))
    if scents:
        whole = sum((each.amount for each in scents), Decimal(0))
        carried = whole if portion.fragrance is None else portion.fragrance
        yield Line(part, gettext("Fragrance of the recipe, of its fats"), carried.normalize(), PER_CENT)
    if portion.destination != Destination.MOULD:
        yield Line(part, gettext("Goes into"), where)
    for into in portion.additions:
        name = gettext("With %(material)s") % {"material": into.material}
        yield Line(part, name, into.amount.normalize(), str(into.amount_by.label))


def _part_of(portion: PortionDesign) -> str:
    return gettext("Portion: %(name)s") % {"name": portion.name}


def _alkali_and_liquid(made: WorkedOut) -> Iterator[Line]:
    """By the weight of the fats, so that batches of two sizes can be compared."""
    part = gettext("Alkali and liquid, to 1 kg of fats")
    for line in made.of(Kind.ALKALI, Kind.LIQUID):
        yield Line(part, line.material.name, _per_kilo(line, made), GRAMS)


def _additions(made: WorkedOut) -> Iterator[Line]:
    scent, on_top = gettext("Scent, colour, additives, of the fats"), gettext("On top")
    for line in made.of(Kind.FRAGRANCE, Kind.COLOUR, Kind.ADDITIVE):
        yield Line(scent, *_share(line), PER_CENT)
    for line in made.of(Kind.TOPPING):
        yield Line(on_top, *_share(line), gettext("g a bar"))
    for line in made.of(Kind.EMBED):
        yield Line(on_top, *_share(line), gettext("a bar"))
    for line in made.of(Kind.PACKAGING):
        yield Line(gettext("Packaging"), *_share(line), gettext("a bar"))


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
        is_colour=any(line.unit == COLOUR for line in (row.before, row.after) if line),
    )


def _figure(line: Line | None, workshop: Workshop) -> str:
    if line is None:
        return gettext("none")
    return line.value if isinstance(line.value, str) else _with_unit(line.value, line.unit, workshop)


def _with_unit(value: Decimal, unit: str, workshop: Workshop) -> str:
    if unit == GRAMS:
        return weight(value, workshop)
    # Several words may stand on several lines; a phone has no room for all of them on one.
    between = " " if " " in unit else TIE
    return f"{trimmed(value)}{between}{unit}" if unit else trimmed(value)


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
