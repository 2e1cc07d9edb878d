"""Recipes as a table for spreadsheets: one row for each line of the card."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from inventory.models import Kind, Lot
from recipes.design import Design, DesignError, design_of
from recipes.exchange.entries import unit_of
from recipes.exchange.materials import number
from recipes.formulation import work_out
from recipes.models import Version
from soapshop.core.models import Workshop

COLUMNS = ("recipe", "version", "kind", "material", "stage", "share", "unit", "grams", "pieces")
MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"  # by which spreadsheets know UTF-8
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def table(versions: Iterable[Version], *, workshop: Workshop, lots: Mapping[int, Lot]) -> str:
    """A CSV file of versions fetched with their ingredients, each worked out at its own size.

    `lots` gives, by material id, the lot whose certificate counts. What cannot be worked out has no weights.
    """
    out = io.StringIO()
    out.write(MARK)
    rows = csv.writer(out)
    rows.writerow(COLUMNS)
    for version in versions:
        rows.writerows(_rows(version, workshop, lots))
    return out.getvalue()


def _rows(version: Version, workshop: Workshop, lots: Mapping[int, Lot]) -> Iterator[list[object]]:
    design = design_of(version)
    weights = _weights(design, workshop, lots)
    for part in design.parts:
        weight, counted = weights.get(part.material.pk, ""), part.kind == Kind.PACKAGING
        yield [
            _plain(version.recipe.name),
            version.number,
            part.kind.value,
            _plain(part.material.name),
            part.stage.value,
            number(part.amount),
            unit_of(part.kind, by_weight=design.by_weight),
            "" if counted else weight,
            weight if counted else "",
        ]


def _weights(design: Design, workshop: Workshop, lots: Mapping[int, Lot]) -> dict[int, Decimal]:
    """Grams, of packaging pieces, by material id."""
    try:
        lines = work_out(design, workshop=workshop, lots=lots).lines
    except DesignError:
        return {}
    return {line.material.pk: line.grams for line in lines}


def _plain(text: str) -> str:
    """A name that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(FORMULA) else text
