"""Recipes and their versions, what goes into each and how it looks, and the moulds it is poured into."""

from recipes.models.look import Addition, AmountBy, Destination, Portion, PortionBy, Trace
from recipes.models.moulds import Mould, Shape
from recipes.models.told import Browned, Fill, Outcome
from recipes.models.version import (
    DESIGN,
    NATURAL,
    Ingredient,
    LiquidBy,
    LiquidScope,
    Process,
    Recipe,
    SizeBy,
    Stage,
    Tag,
    Version,
    poured_words,
)

__all__ = [
    "DESIGN",
    "NATURAL",
    "Addition",
    "AmountBy",
    "Browned",
    "Destination",
    "Fill",
    "Ingredient",
    "LiquidBy",
    "LiquidScope",
    "Mould",
    "Outcome",
    "Portion",
    "PortionBy",
    "Process",
    "Recipe",
    "Shape",
    "SizeBy",
    "Stage",
    "Tag",
    "Trace",
    "Version",
    "poured_words",
]
