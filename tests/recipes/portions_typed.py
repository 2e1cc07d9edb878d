"""What a maker types into the form of a look, for the tests of its form, steps and pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.http import QueryDict

from inventory.models import Material

PLAIN = {
    "name": "All of it",
    "size_by": "rest",
    "size": "",
    "colour": "#efe6cf",
    "technique": "layer",
    "trace": "",
    "scent": "recipe",
    "fragrance": "",
    "destination": "mould",
    "other_mould": "",
}

Rows = Sequence[tuple[Material | str, str, str]]


def portion(key: str = "p1", *, rows: Rows = (), **changed: str) -> dict[str, Any]:
    """The fields of one portion, some of them changed; a row is a material, an amount and what that means."""
    fields: dict[str, Any] = {f"{key}-{name}": value for name, value in (PLAIN | changed).items()}
    for at, column in enumerate(("material", "amount", "amount_by")):
        fields[f"{key}-{column}"] = [_typed(row[at]) for row in rows]
    return fields


def typed(*portions: Mapping[str, Any], **more: str) -> dict[str, Any]:
    """What is sent: the portions in the order of pouring."""
    fields: dict[str, Any] = {"portion": [next(iter(one)).partition("-")[0] for one in portions]}
    for one in portions:
        fields |= one
    return fields | more


def query(*portions: Mapping[str, Any], **more: str) -> QueryDict:
    """The same, as a view gets it."""
    data = QueryDict(mutable=True)
    for name, value in typed(*portions, **more).items():
        data.setlist(name, value if isinstance(value, list) else [value])
    return data


def two(**changed: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """A light half and a dark rest; the changes are of the first."""
    light = {"name": "Light", "size_by": "share", "size": "50", "colour": "#f4ecdc"} | changed
    return portion("p1", **light), portion("p2", name="Dark", colour="#7d6a58")


def _typed(value: Material | str) -> str:
    return str(value.pk) if isinstance(value, Material) else value
