"""Recipes as a table for spreadsheets: one row for each material of a recipe, and of each portion."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping

from inventory.models import COUNTED, Lot
from recipes.design import Design, design_of
from recipes.errors import DesignError
from recipes.exchange import portions
from recipes.exchange.entries import unit_of
from recipes.exchange.materials import number
from recipes.formulation import WorkedOut, work_out
from recipes.models import Stage, Version
from soapshop.core.models import Workshop

COLUMNS = ("recipe", "version", "kind", "material", "stage", "share", "unit", "grams", "pieces", "portion")
MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"  # by which spreadsheets know UTF-8
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def table(
    versions: Iterable[Version],
    *,
    workshop: Workshop,
    lots: Mapping[int, Lot],
    densities: Mapping[int, tuple[float, ...]],
) -> str:
    """A CSV file of versions fetched with their ingredients, each worked out at its own size.

    `lots` gives, by material id, the lot whose certificate counts, and `densities`, by version id, how dense
    earlier pours were in its mould in g/mL. What cannot be worked out has no weights.
    """
    out = io.StringIO()
    out.write(MARK)
    rows = csv.writer(out)
    rows.writerow(COLUMNS)
    for version in versions:
        design = design_of(version)
        made = _worked_out(design, workshop, lots, densities.get(version.pk, ()))
        beginning = [_plain(version.recipe.name), version.number]
        rows.writerows(beginning + row for row in (*_rows(design, made), *_portion_rows(design, made)))
    return out.getvalue()


def _worked_out(
    design: Design, workshop: Workshop, lots: Mapping[int, Lot], densities: tuple[float, ...]
) -> WorkedOut | None:
    try:
        return work_out(design, workshop=workshop, lots=lots, densities=densities)
    except DesignError:
        return None


def _rows(design: Design, made: WorkedOut | None) -> Iterator[list[object]]:
    weights = {line.material.pk: line.grams for line in made.lines} if made else {}
    for part in design.parts:
        weight, counted = weights.get(part.material.pk, ""), part.kind in COUNTED
        yield [
            part.kind.value,
            _plain(part.material.name),
            part.stage.value,
            number(part.amount),
            unit_of(part.kind, by_weight=design.by_weight),
            "" if counted else weight,
            weight if counted else "",
            "",
        ]


def _portion_rows(design: Design, made: WorkedOut | None) -> Iterator[list[object]]:
    jugs = made.split.jugs if made and made.split else ()
    weights = {(jug.design.name, one.material.pk): one.grams for jug in jugs for one in jug.goes_in}
    for portion in design.portions:
        for into in portion.additions:
            yield [
                into.material.kind,
                _plain(into.material.name),
                Stage.JUG.value,
                number(into.amount),
                portions.UNITS[into.amount_by],
                weights.get((portion.name, into.material.pk), ""),
                "",
                _plain(portion.name),
            ]


def _plain(text: str) -> str:
    """A name that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(FORMULA) else text
