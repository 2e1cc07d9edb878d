"""A plain table of materials and amounts, such as a spreadsheet keeps, as the beginning of a new recipe.

Of the lye only its materials are taken: how much of it there must be is worked out, never copied.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from urllib.parse import urlencode

from django.utils.translation import gettext

from inventory.models import Kind, Material
from recipes.design import LIST_OF, MOST_PARTS, WHOLE
from recipes.exchange.document import MOST_PROBLEMS, BadFile, text_of
from shared.units import UnitError, parse_weight
from soapshop.core.words import in_words

SHARES = {"", "%", "percent", "percent_of_fats", "percent_of_liquid", "percent_of_alkali_by_mol"}
PIECES = {"", "pcs", "pieces", "pieces_per_bar"}
UNITS = {Kind.EMBED: PIECES, Kind.TOPPING: {"", "g_per_bar"}, Kind.PACKAGING: PIECES}
DELIMITERS = (";", "\t", ",")
THOUSANDTH = Decimal("0.001")
LONGEST_FIGURE = 20


@dataclass(frozen=True, slots=True)
class Amount:
    """A line of the table: a share in per cent, pieces, or with `weighed` grams."""

    material: Material
    value: Decimal
    weighed: bool

    @property
    def kind(self) -> Kind:
        return Kind(self.material.kind)


def beginning(content: bytes, materials: Iterable[Material]) -> str:
    """The question of the address at which a new recipe begins with what a table lists. Raises BadFile.

    The table is CSV, with a first line that names its columns: material, amount, and unit where it is not %.
    """
    by_name = {material.name.lower(): material for material in materials}
    found, problems = [], []
    for number, line in _lines(text_of(content)):
        try:
            found.append(_amount(line, by_name))
        except BadFile as error:
            words = gettext("Line %(number)d: %(problem)s")
            problems.append(words % {"number": number, "problem": error.problems[0]})
    if problems or not found:
        raise BadFile(*problems[:MOST_PROBLEMS] or [gettext("There is no material in this table.")])
    return urlencode(list(_asked(found)))


def _lines(text: str) -> Iterator[tuple[int, dict[str, str]]]:
    """The lines below the first by the names of their columns in small letters, with their numbers."""
    heading, _, _ = text.partition("\n")
    delimiter = max(DELIMITERS, key=heading.count)
    try:
        rows = list(csv.reader(text.splitlines(), delimiter=delimiter))
    except csv.Error as error:
        raise BadFile(gettext("This table cannot be read. Save it as CSV.")) from error
    names = [name.strip().lower().replace("share", "amount") for name in rows[0]] if rows else []
    if not {"material", "amount"} <= set(names):
        raise BadFile(gettext("The first line must name the columns: material, amount, unit."))
    if len(rows) > MOST_PARTS + 1:
        words = gettext("A recipe holds up to %(most)d materials; this table has %(lines)d lines.")
        raise BadFile(words % {"most": MOST_PARTS, "lines": len(rows) - 1})
    for number, row in enumerate(rows[1:], start=2):
        line = dict(zip(names, (cell.strip() for cell in row), strict=False))
        if line.get("material"):
            yield number, line


def _amount(line: dict[str, str], by_name: dict[str, Material]) -> Amount:
    material = by_name.get(line["material"].lower())
    if material is None:
        words = gettext(
            "there is no “%(material)s” in the stockroom. Add it there, or write its name as there."
        )
        raise BadFile(words % {"material": line["material"][:80]})
    if material.kind not in LIST_OF:
        raise BadFile(
            gettext("%(material)s was kept back from a batch; it stands in no recipe.")
            % {"material": material}
        )
    if line.get("portion"):
        words = gettext("portions are not taken from a table. Bring in the recipe’s JSON file instead.")
        raise BadFile(words)
    figure, unit = line.get("amount", ""), line.get("unit", "").lower()
    if material.kind in {Kind.ALKALI, Kind.LIQUID} and not figure:
        return Amount(material, Decimal(0), weighed=False)
    if unit in UNITS.get(Kind(material.kind), SHARES):
        return Amount(material, _figure(figure.removesuffix("%")), weighed=False)
    if material.counted:
        raise BadFile(gettext("this is counted in pieces for a bar."))
    if material.kind == Kind.TOPPING:
        raise BadFile(gettext("a topping is given in grams for a bar: write g_per_bar."))
    try:
        grams = parse_weight(f"{figure} {unit}")
    except UnitError as error:
        raise BadFile(in_words(error.words)) from error
    if not grams:
        raise BadFile(gettext("this must be more than nothing."))
    return Amount(material, grams, weighed=True)


def _figure(text: str) -> Decimal:
    try:
        found = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        found = Decimal("NaN")
    if len(text) > LONGEST_FIGURE or not found.is_finite() or not 0 < found < 1_000_000:
        raise BadFile(gettext("“%(text)s” is no amount.") % {"text": text[:LONGEST_FIGURE]})
    return found


def _asked(found: Sequence[Amount]) -> Iterator[tuple[str, str]]:
    """The lists of the form, and the size where the table gives the weights of the fats."""
    fats = [one for one in found if one.kind == Kind.FAT]
    if len({one.weighed for one in fats}) > 1:
        raise BadFile(gettext("Give either every fat by its weight or every fat in per cent."))
    total = sum((one.value for one in fats if one.weighed), Decimal(0))
    if total:
        yield "size_grams", _plain(total)
    for kind in Kind:
        of_kind = [one for one in found if one.kind == kind]
        for one, amount in zip(of_kind, _amounts(kind, of_kind, total), strict=True):
            yield f"{LIST_OF[kind]}-material", str(one.material.pk)
            yield f"{LIST_OF[kind]}-amount", amount


def _amounts(kind: Kind, found: Sequence[Amount], fats: Decimal) -> list[str]:
    """What the form holds for each: shares of their whole, of the fats, or pieces. `fats` is in grams."""
    if kind == Kind.ALKALI:
        return ["100"] if len(found) == 1 else [""] * len(found)
    if kind == Kind.LIQUID and len(found) == 1:
        return ["100"]
    if kind in {Kind.FAT, Kind.LIQUID}:
        if len({one.weighed for one in found}) > 1:
            return [""] * len(found)
        return _shares(found) if found and found[0].weighed else [_plain(one.value) for one in found]
    if not fats and any(one.weighed for one in found):
        words = gettext("Give the fats by weight too, or %(material)s in per cent of the fats.")
        raise BadFile(words % {"material": next(one.material for one in found if one.weighed)})
    return [_plain(WHOLE * one.value / fats if one.weighed else one.value) for one in found]


def _shares(found: Sequence[Amount]) -> list[str]:
    """Per cent of their sum; the largest takes what rounding leaves."""
    total = sum((one.value for one in found), Decimal(0))
    shares = [(WHOLE * one.value / total).quantize(THOUSANDTH) for one in found]
    shares[shares.index(max(shares))] += WHOLE - sum(shares, Decimal(0))
    return [_plain(share) for share in shares]


def _plain(figure: Decimal) -> str:
    """As one would type it, to the thousandth."""
    return f"{figure.quantize(THOUSANDTH).normalize():f}"
