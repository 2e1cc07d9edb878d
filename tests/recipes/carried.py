"""Files of recipes for the tests: written from versions, or by hand."""

from __future__ import annotations

import json
from copy import deepcopy
from typing import Any

from django.utils import timezone

from inventory.models import Material
from recipes.exchange import document
from recipes.models import Mould, Recipe, Version
from recipes.queries import exchange as queries
from recipes.services import Kept, keep, try_out
from soapshop.core.models import User

SAP = {"low": 184, "usual": 190, "high": 196, "source": "a book"}
BY_HAND: dict[str, Any] = {
    "format": "soapshop-recipe",
    "format_version": 1,
    "materials": [
        {"name": "Tallow", "kind": "fat", "saponification_mg_koh_per_g": SAP},
        {"name": "Soda", "kind": "alkali", "alkali": "naoh", "purity_percent": {"low": 97, "high": 100}},
        {"name": "Water", "kind": "liquid", "inci_name": "Aqua"},
    ],
    "recipes": [
        {
            "name": "Gravel Lane",
            "superfat_percent": 5,
            "liquid": {"lye_concentration_percent": 33},
            "size": {"fats_g": 1000},
            "bars": 10,
            "ingredients": [
                {"material": "Tallow", "amount": 100, "unit": "percent_of_fats"},
                {"material": "Soda", "amount": 100, "unit": "percent_of_alkali_by_mol"},
                {"material": "Water", "amount": 100, "unit": "percent_of_liquid"},
            ],
        }
    ],
}


CLAY = {"name": "Rose clay", "kind": "colour", "colour": "#c98b82", "density_g_per_ml": 0.8}
LOAF = {
    "name": "Long loaf",
    "shape": "loaf",
    "length_mm": 250,
    "width_mm": 80,
    "depth_mm": 65,
    "liner_mm": 0.5,
    "bars": 10,
    "trim_mm": 2,
    "kerf_mm": 0.5,
}
TINS = {"name": "Six tins", "shape": "cavities", "depth_mm": 30, "cavities": 6, "millilitres": 95.5}
SPLIT = [
    {"name": "White", "size": {"rest": True}, "fragrance_percent_of_its_fats": 0},
    {
        "name": "Rose",
        "size": {"percent_of_batter": 40},
        "colour": "#c98b82",
        "poured_at": "medium",
        "technique": "drop",
        "additions": [{"material": "rose clay", "amount": 1.5, "unit": "teaspoons_per_kg_of_fats"}],
    },
    {"name": "Tins", "size": {"grams": 120}, "goes_into": "other", "other_mould": "Six tins"},
]


def split_by_hand(**changed: Any) -> dict[str, Any]:
    """The same recipe in three portions, in a loaf mould and in tins; what is `changed` is of the recipe."""
    found = by_hand(**{"mould": "Long loaf", "portions": deepcopy(SPLIT), **changed})
    found["materials"].append(deepcopy(CLAY))
    found["moulds"] = [deepcopy(LOAF), deepcopy(TINS)]
    return found


def by_hand(**changed: Any) -> dict[str, Any]:
    """A file of one recipe of tallow, soda and water; what is `changed` is of the recipe."""
    found = deepcopy(BY_HAND)
    found["recipes"][0] |= changed
    return found


def content(found: Any) -> bytes:
    return json.dumps(found).encode()


def file_of(*versions: Version) -> bytes:
    """These versions, or the last of every recipe, as they are carried out."""
    found = [queries.version_to_carry(each.recipe, each.number) for each in versions]
    carried = document.document(
        [each for each in found if each] or queries.versions_to_carry(),
        workshop="Lindenbath Soap",
        at=timezone.now(),
    )
    return content(carried)


def read(found: dict[str, Any]) -> dict[str, Any]:
    """As it is after it was read."""
    return document.read(content(found))


def kept(found: bytes | dict[str, Any], by: User, only: range = range(1000)) -> Kept:
    whole = document.read(found if isinstance(found, bytes) else content(found))
    return keep(found=whole, file="lane.json", only=only, by=by)


def tried(found: dict[str, Any], by: User) -> Kept:
    return try_out(found=read(found), file="lane.json", by=by)


def empty_workshop() -> None:
    """Neither recipes nor materials nor moulds."""
    Version.objects.all().delete()
    Recipe.objects.all().delete()
    Material.objects.all().delete()
    Mould.objects.all().delete()
