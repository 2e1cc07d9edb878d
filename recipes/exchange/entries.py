"""A version of a recipe as a file tells it, and the design that such an entry means."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext

from inventory.models import Kind, Material
from recipes.design import Design, Mould, Part, design_of
from recipes.exchange import portions
from recipes.exchange.materials import number
from recipes.models import LiquidBy, LiquidScope, Process, SizeBy, Stage, Version
from recipes.models import Mould as KeptMould

USUAL_CURE = 28  # days, where a file does not say

LIQUID_KEYS = {
    LiquidBy.CONCENTRATION: "lye_concentration_percent",
    LiquidBy.RATIO: "liquid_to_alkali_g_per_g",
    LiquidBy.OF_FATS: "liquid_percent_of_fats",
}
UNITS = {
    Kind.ALKALI: "percent_of_alkali_by_mol",
    Kind.LIQUID: "percent_of_liquid",
    Kind.EMBED: "pieces_per_bar",
    Kind.TOPPING: "g_per_bar",
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
        **_mould_told(design),
        "bars": design.bars,
        "cure_days": version.cure_days,
    }
    said |= {"bar_colour": version.bar_colour} if version.bar_colour else {}
    said["ingredients"] = [_part_told(part, by_weight=design.by_weight) for part in design.parts]
    return said | ({"portions": split} if (split := [portions.told(one) for one in design.portions]) else {})


def design(
    entry: Mapping[str, Any], materials: Mapping[str, Material], moulds: Mapping[str, KeptMould]
) -> Design:
    """What an entry means, with its materials and moulds by the names that the file gives them, in small
    letters.

    Raises ValidationError for an amount in a unit that such a material is not measured in, and for a mould
    that is told twice or not at all.
    """
    liquid_key, liquid_value = next(iter(entry["liquid"].items()))
    size_key, size = next(iter(entry["size"].items()))
    size_by = _SIZES[size_key]
    by_weight = size_by == SizeBy.WEIGHTS
    return Design(
        superfat=Decimal(entry["superfat_percent"]),
        liquid_by=next(by for by, key in LIQUID_KEYS.items() if key == liquid_key),
        liquid_value=Decimal(liquid_value),
        size_by=size_by,
        size_grams=Decimal(size) if size_by in {SizeBy.FATS, SizeBy.BATTER} else None,
        mould=_mould(entry, moulds),
        bars=int(entry["bars"]),
        parts=tuple(_part(one, materials, by_weight=by_weight) for one in entry["ingredients"]),
        liquid_scope=LiquidScope(entry.get("liquid_counts", LiquidScope.BATTER)),
        process=Process(entry.get("process", Process.COLD)),
        portions=tuple(portions.meant(one, materials, moulds) for one in entry.get("portions", ())),
    )


def bare(design: Design) -> Design:
    """Without what a form kept though the size is said in another way; what the batter goes into stays."""
    weighed, mould = design.size_by in {SizeBy.FATS, SizeBy.BATTER}, design.mould
    if mould and design.size_by != SizeBy.MOULD:
        mould = replace(mould, height=None)
    return replace(design, size_grams=design.size_grams if weighed else None, mould=mould)


def material_names(entry: Mapping[str, Any]) -> list[str]:
    """The materials that an entry names, in small letters."""
    into = (one for portion in entry.get("portions", ()) for one in portion.get("additions", ()))
    return [one["material"].strip().lower() for one in (*entry["ingredients"], *into)]


def mould_names(entry: Mapping[str, Any]) -> list[str]:
    """The moulds that an entry names, in small letters."""
    others = (portion.get("other_mould") for portion in entry.get("portions", ()))
    return [name.strip().lower() for name in (entry.get("mould"), *others) if name]


def moulds_of(design: Design) -> Iterator[KeptMould]:
    """The moulds of the workshop that a design names."""
    for mould in (design.mould and design.mould.kept, *(one.other_mould for one in design.portions)):
        if mould:
            yield mould


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


_SIZES = {
    "fats_g": SizeBy.FATS,
    "batter_g": SizeBy.BATTER,
    "mould_mm": SizeBy.MOULD,
    "filled_to_mm": SizeBy.MOULD,
    "each_fat_by_weight": SizeBy.WEIGHTS,
    "as_portions_need": SizeBy.PORTIONS,
}


def _size_told(design: Design) -> dict[str, Any]:
    mould = design.mould
    if mould and mould.height is not None:
        height = number(mould.height)
        return (
            {"filled_to_mm": height}
            if mould.kept
            else {"mould_mm": _base_told(mould) | {"fill_height": height}}
        )
    key = next(key for key, size_by in _SIZES.items() if size_by == design.size_by)
    return {key: True if design.size_grams is None else number(design.size_grams)}


def _mould_told(design: Design) -> dict[str, Any]:
    """What the size does not tell of it."""
    if design.mould is None or (design.size_by == SizeBy.MOULD and not design.mould.kept):
        return {}
    kept = design.mould.kept
    return {"mould": kept.name} if kept else {"base_mm": _base_told(design.mould)}


def _base_told(mould: Mould) -> dict[str, Any]:
    return {"length": number(mould.length or Decimal(0)), "width": number(mould.width or Decimal(0))}


def _mould(entry: Mapping[str, Any], moulds: Mapping[str, KeptMould]) -> Mould | None:
    size, name = entry["size"], entry.get("mould")
    sides = entry.get("base_mm") or size.get("mould_mm")
    if sum(1 for said in (name, entry.get("base_mm"), size.get("mould_mm")) if said) > 1:
        raise ValidationError(gettext("The mould is told in two ways. Keep one of them."))
    if "filled_to_mm" in size and not name:
        raise ValidationError(gettext("The size is a height in a mould, but no mould is named."))
    if name:
        return Mould(None, None, _decimal(size.get("filled_to_mm")), moulds[name.strip().lower()])
    if sides:
        length, width = Decimal(sides["length"]), Decimal(sides["width"])
        return Mould(length, width, _decimal(sides.get("fill_height")))
    return None


def _decimal(value: Decimal | int | None) -> Decimal | None:
    return None if value is None else Decimal(value)


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
