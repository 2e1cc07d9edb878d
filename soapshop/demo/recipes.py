"""The invented recipes of the invented workshop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Material
from recipes.design import Design, Mould, Part
from recipes.models import LiquidBy, SizeBy, Version
from recipes.models import Mould as KeptMould
from recipes.services import create_recipe
from soapshop.core.models import User
from soapshop.demo.moulds import LOAF


@dataclass(frozen=True, slots=True)
class Idea:
    """Parts by material name, in the meaning that `recipes.models.Ingredient` gives to amounts.

    As large as so many grams of fats, or as the loaf filled so many mm high.
    """

    name: str
    parts: Mapping[str, str]
    superfat: str
    concentration: str
    bars: int
    cure_days: int
    bar_colour: str
    note: str
    fats: int | None = None
    filled: int | None = None


BASE = {"Sodium hydroxide": "100", "Water, distilled": "100", "Paper band": "1"}

IDEAS = (
    Idea(
        "Heron Slate",
        {
            "Olive oil": "45",
            "Coconut oil": "25",
            "Rapeseed oil, low erucic (canola)": "15",
            "Cocoa butter": "10",
            "Castor oil": "5",
            "Wet Slate and Mint": "2.5",
            "Charcoal": "0.4",
            **BASE,
        },
        superfat="5",
        concentration="33",
        bars=10,
        cure_days=28,
        bar_colour="#6b747c",
        note="Firm, grey, no palm.",
        filled=60,
    ),
    Idea(
        "Wren Oatmeal",
        {
            "Olive oil": "50",
            "Coconut oil": "20",
            "Shea butter, unrefined": "25",
            "Castor oil": "5",
            "Hedgerow Honey": "2",
            "Oat flour, fine": "2",
            **BASE,
        },
        superfat="6",
        concentration="32",
        bars=12,
        cure_days=35,
        bar_colour="#d9b98a",
        note="For dry hands; the honey scent browns a little.",
        fats=1200,
    ),
    Idea(
        "Moss Gate",
        {
            "Olive oil": "55",
            "Coconut oil": "25",
            "Rapeseed oil, low erucic (canola)": "15",
            "Castor oil": "5",
            "Fen Lavender": "2.5",
            "Green clay": "1.5",
            **BASE,
        },
        superfat="5",
        concentration="33",
        bars=10,
        cure_days=28,
        bar_colour="#8fa07c",
        note="",
        fats=1000,
    ),
    Idea(
        "Dairyman's Block",
        {"Beef tallow": "55", "Coconut oil": "20", "Olive oil": "20", "Castor oil": "5", **BASE},
        superfat="4",
        concentration="35",
        bars=10,
        cure_days=28,
        bar_colour="#f1ead8",
        note="No scent, no colour, very hard.",
        fats=1000,
    ),
    Idea(
        "Plain Cloister",
        {"Olive oil": "80", "Coconut oil": "15", "Castor oil": "5", **BASE},
        superfat="5",
        concentration="36",
        bars=9,
        cure_days=120,
        bar_colour="#e5e0b8",
        note="Nearly all olive oil: give it months.",
        fats=900,
    ),
    Idea(
        "Rosy Kiln",
        {
            "Olive oil": "45",
            "Coconut oil": "25",
            "Shea butter, unrefined": "15",
            "Rapeseed oil, low erucic (canola)": "10",
            "Castor oil": "5",
            "Rose clay": "2",
            **BASE,
        },
        superfat="5",
        concentration="33",
        bars=10,
        cure_days=28,
        bar_colour="#c98f80",
        note="",
        fats=1000,
    ),
)


def write_down(
    materials: Mapping[str, Material], moulds: Mapping[str, KeptMould], by: User
) -> dict[str, Version]:
    """The recipes as first versions, by name."""
    return {
        idea.name: create_recipe(
            name=idea.name,
            design=_design(idea, materials, moulds[LOAF]),
            cure_days=idea.cure_days,
            bar_colour=idea.bar_colour,
            note=idea.note,
            by=by,
        )
        for idea in IDEAS
    }


def _design(idea: Idea, materials: Mapping[str, Material], loaf: KeptMould) -> Design:
    return Design(
        superfat=Decimal(idea.superfat),
        liquid_by=LiquidBy.CONCENTRATION,
        liquid_value=Decimal(idea.concentration),
        size_by=SizeBy.MOULD if idea.filled else SizeBy.FATS,
        size_grams=Decimal(idea.fats) if idea.fats else None,
        mould=Mould(None, None, Decimal(idea.filled), loaf) if idea.filled else None,
        bars=idea.bars,
        parts=tuple(Part(materials[name], Decimal(amount)) for name, amount in idea.parts.items()),
    )
