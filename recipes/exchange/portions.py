"""A portion of a batter as a file tells it, and the one that such an entry means."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext

from inventory.models import Material
from recipes.exchange.materials import number
from recipes.models import AmountBy, Destination, Mould, PortionBy, Trace
from recipes.portions import Into, PortionDesign
from shared.cross_section import Technique

SIZES = {
    PortionBy.SHARE: "percent_of_batter",
    PortionBy.GRAMS: "grams",
    PortionBy.LAYER: "layer_mm",
    PortionBy.REST: "rest",
}
UNITS = {
    AmountBy.WEIGHT: "percent_of_portion",
    AmountBy.FATS: "percent_of_its_fats",
    AmountBy.SPOONS: "teaspoons_per_kg_of_fats",
}


def told(portion: PortionDesign) -> dict[str, Any]:
    """What a file says of a portion: what is as usual is left out."""
    size: Any = True if portion.size is None else number(portion.size)
    said: dict[str, Any] = {"name": portion.name, "size": {SIZES[portion.size_by]: size}}
    said |= {"colour": portion.colour} if portion.colour else {}
    if portion.fragrance is not None:
        said["fragrance_percent_of_its_fats"] = number(portion.fragrance)
    said |= {"poured_at": portion.trace.value} if portion.trace else {}
    said |= {"technique": portion.technique.value} if portion.technique != Technique.LAYER else {}
    said |= {"goes_into": portion.destination.value} if portion.destination != Destination.MOULD else {}
    said |= {"other_mould": portion.other_mould.name} if portion.other_mould else {}
    return said | (
        {"additions": [_into_told(into) for into in portion.additions]} if portion.additions else {}
    )


def meant(
    said: Mapping[str, Any], materials: Mapping[str, Material], moulds: Mapping[str, Mould]
) -> PortionDesign:
    """What an entry means, with its materials and moulds by the names that the file gives them, in small
    letters. Raises ValidationError for a mould where it goes into none."""
    size_key, size = next(iter(said["size"].items()))
    size_by = next(by for by, key in SIZES.items() if key == size_key)
    fragrance = said.get("fragrance_percent_of_its_fats")
    destination = Destination(said.get("goes_into", Destination.MOULD))
    name, other = said["name"].strip(), said.get("other_mould")
    if other and destination != Destination.OTHER:
        words = gettext("%(portion)s names another mould, but does not go into it.")
        raise ValidationError(words % {"portion": name})
    return PortionDesign(
        name=name,
        size_by=size_by,
        size=None if size_by == PortionBy.REST else Decimal(size),
        colour=said.get("colour", ""),
        fragrance=None if fragrance is None else Decimal(fragrance),
        trace=Trace(said.get("poured_at", Trace.ANY)),
        technique=Technique(said.get("technique", Technique.LAYER)),
        destination=destination,
        other_mould=moulds[other.strip().lower()] if other else None,
        additions=tuple(_into(one, materials) for one in said.get("additions", ())),
    )


def _into_told(into: Into) -> dict[str, Any]:
    return {"material": into.material.name, "amount": number(into.amount), "unit": UNITS[into.amount_by]}


def _into(said: Mapping[str, Any], materials: Mapping[str, Material]) -> Into:
    amount_by = next(by for by, unit in UNITS.items() if unit == said["unit"])
    return Into(materials[said["material"].strip().lower()], Decimal(said["amount"]), amount_by)
