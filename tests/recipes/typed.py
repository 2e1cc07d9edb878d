"""What a maker types into the form of a recipe, for the tests of its pages."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from inventory.models import Material
from recipes.forms import RecipeForm
from recipes.models import Version
from tests.factories import MaterialFactory


@dataclass
class Typed:
    """The form of a recipe of two fats, filled in so that it can be saved."""

    olive: Material
    coconut: Material
    lye: Material
    water: Material
    said: dict[str, Any] = field(default_factory=dict)

    def __call__(self, **changed: Any) -> dict[str, Any]:
        """The fields to post, some of them changed; lists take their rows as pairs of material and amount."""
        fields: dict[str, Any] = {
            "name": "Gravel Lane",
            "superfat": "5",
            "liquid_by": "concentration",
            "liquid_value": "33",
            "liquid_scope": "batter",
            "process": "cold",
            "size_by": "fats",
            "size_grams": "1000",
            "bars": "10",
            "cure_days": "28",
            "bar_colour": "#a9b9c1",
            "note": "",
            "fats": [(self.olive, "70"), (self.coconut, "30")],
            "alkalis": [(self.lye, "100")],
            "liquids": [(self.water, "")],
        } | changed
        return {name: value for one in fields.items() for name, value in _spread(*one)}


def typed() -> Typed:
    return Typed(
        olive=MaterialFactory(name="Olive oil"),
        coconut=MaterialFactory(name="Coconut oil", sap_low=248, sap_nominal=256, sap_high=265),
        lye=MaterialFactory(name="Sodium hydroxide", naoh=True),
        water=MaterialFactory(name="Water", liquid=True),
    )


def rows(form: RecipeForm, name: str) -> list[tuple[str, str]]:
    """The rows of a list as they stand in the form: material and amount."""
    return [(row.material, row.amount) for row in form.lists[name].typed]


def fats_of(version: Version) -> dict[str, str]:
    """The fats of a version by name, with their amounts as one would type them."""
    rows = version.ingredients.filter(material__kind="fat").select_related("material")
    return {row.material.name: f"{row.amount.normalize():f}" for row in rows}


def _spread(name: str, value: Any) -> list[tuple[str, Any]]:
    if not isinstance(value, list):
        return [(name, value)]
    materials = [material.pk if isinstance(material, Material) else material for material, _ in value]
    return [(f"{name}-material", materials), (f"{name}-amount", [amount for _, amount in value])]
