"""Recipes of materials that no database has seen, so that many can be tried in a moment."""

from itertools import count
from typing import Any

from inventory.models import Material
from recipes.design import Design
from tests.factories import MaterialFactory, design, part

KEYS = count(1_000_000)


def stuff(**traits: Any) -> Material:
    return MaterialFactory.build(id=next(KEYS), **traits)


def soap(*more: Any, **changed: Any) -> Design:
    """A kilogram of two fats with lye and water, and what else is given."""
    base = (part(70, stuff()), part(30, stuff()), part(100, stuff(naoh=True)), part(100, stuff(liquid=True)))
    return design(*base, *more, **changed)
