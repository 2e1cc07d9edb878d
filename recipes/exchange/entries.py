"""A version of a recipe as a file tells it, and the design that such an entry means."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext

from inventory.models import Kind, Material
from recipes.design import Design, Mould, Part, design_of
from recipes.exchange.materials import number
from recipes.models import LiquidBy, LiquidScope, Process, SizeBy, Stage, Version

USUAL_CURE = 28  # days, where a file does not say

LIQUID_KEYS = {
    LiquidBy.CONCENTRATION: "lye_concentration_percent",
    LiquidBy.RATIO: "liquid_to_alkali_g_per_g",
    LiquidBy.OF_FATS: "liquid_percent_of_fats",
}
UNITS = {
    Kind.ALKALI: "percent_of_alkali_by_mol",
    Kind.LIQUID: "percent_of_liquid",
    Kind.PACKAGING: "pieces_per_bar",
}


def unit_of(kind: Kind, *, by_weight: bool) -> str:
    """In what the amount of a material is told; `by_weight` where the recipe gives each fat in grams."""
    return "g" if kind == Kind.FAT and by_weight else UNITS.get(kind, "percent_of_fats")


def told(version: Version) -> dict[str, Any]:
    """What a file says of a version fetched with its ingredients."""
    design, recipe = bare(design_of(version)), version.recipe
    said: dict[str, Any] = {"name": recipe.name, "version_number": version.number}
    said |= {"put_away": True} if recipe.archived else {}
    said |= {"tags": tags} if (tags := [tag.name for tag in recipe.tags.all()]) else {}
    said |= {"note": version.note} if version.note else {}
    said |= {
        "process": design.process.value,
        "superfat_percent": number(design.superfat),
        "liquid": {LIQUID_KEYS[design.liquid_by]: number(design.liquid_value)},
        "liquid_counts": design.liquid_scope.value,
        "size": _size_told(design),
        "bars": design.bars,
        "cure_days": version.cure_days,
    }
    said |= {"bar_colour": version.bar_colour} if version.bar_colour else {}
    return said | {"ingredients": [_part_told(part, by_weight=design.by_weight) for part in design.parts]}


def design(entry: Mapping[str, Any], materials: Mapping[str, Material]) -> Design:
    """What an entry means, with its materials by the name that the file gives them, in small letters.

    Raises ValidationError for an amount in a unit that such a material is not measured in.
    """
    liquid_key, liquid_value = next(iter(entry["liquid"].items()))
    size_key, size = next(iter(entry["size"].items()))
    size_by = _SIZES[size_key]
    mould = Mould(*(Decimal(size[side]) for side in _SIDES)) if size_by == SizeBy.MOULD else None
    by_weight = size_by == SizeBy.WEIGHTS
    return Design(
        superfat=Decimal(entry["superfat_percent"]),
        liquid_by=next(by for by, key in LIQUID_KEYS.items() if key == liquid_key),
        liquid_value=Decimal(liquid_value),
        size_by=size_by,
        size_grams=Decimal(size) if size_by in {SizeBy.FATS, SizeBy.BATTER} else None,
        mould=mould,
        bars=int(entry["bars"]),
        parts=tuple(_part(one, materials, by_weight=by_weight) for one in entry["ingredients"]),
        liquid_scope=LiquidScope(entry.get("liquid_counts", LiquidScope.BATTER)),
        process=Process(entry.get("process", Process.COLD)),
    )


def bare(design: Design) -> Design:
    """Without what a form kept though the size is said in another way."""
    weighed = design.size_by in {SizeBy.FATS, SizeBy.BATTER}
    return replace(
        design,
        size_grams=design.size_grams if weighed else None,
        mould=design.mould if design.size_by == SizeBy.MOULD else None,
    )


def says_the_same(version: Version, entry: Mapping[str, Any], meant: Design) -> bool:
    """Whether a version fetched with its ingredients is what an entry means."""
    said = (version.cure_days, version.bar_colour, version.note)
    return said == tuple(words(entry).values()) and bare(design_of(version)) == meant


def words(entry: Mapping[str, Any]) -> dict[str, Any]:
    """What an entry says of a version beside its design."""
    return {
        "cure_days": int(entry.get("cure_days", USUAL_CURE)),
        "bar_colour": entry.get("bar_colour", ""),
        "note": entry.get("note", "").strip(),
    }


_SIDES = ("length", "width", "fill_height")
_SIZES = {
    "fats_g": SizeBy.FATS,
    "batter_g": SizeBy.BATTER,
    "mould_mm": SizeBy.MOULD,
    "each_fat_by_weight": SizeBy.WEIGHTS,
}


def _size_told(design: Design) -> dict[str, Any]:
    key = next(key for key, size_by in _SIZES.items() if size_by == design.size_by)
    if design.mould:
        sides = (design.mould.length, design.mould.width, design.mould.height)
        return {key: {side: number(value) for side, value in zip(_SIDES, sides, strict=True)}}
    return {key: True if design.size_grams is None else number(design.size_grams)}


def _part_told(part: Part, *, by_weight: bool) -> dict[str, Any]:
    said: dict[str, Any] = {
        "material": part.material.name,
        "amount": number(part.amount),
        "unit": unit_of(part.kind, by_weight=by_weight),
    }
    return said | ({"stage": part.stage.value} if part.stage else {})


def _part(said: Mapping[str, Any], materials: Mapping[str, Material], *, by_weight: bool) -> Part:
    material = materials[said["material"].strip().lower()]
    unit = unit_of(Kind(material.kind), by_weight=by_weight)
    if said["unit"] != unit:
        sentence = gettext("%(material)s is given in “%(unit)s”; here it must be “%(right)s”.")
        raise ValidationError(sentence % {"material": said["material"], "unit": said["unit"], "right": unit})
    return Part(material, Decimal(said["amount"]), Stage(said.get("stage", Stage.USUAL)))
