"""Reads that feed the pages of recipes, and what batches ask of them."""

from recipes.queries.catalogue import Catalogue, catalogue
from recipes.queries.pages import RecipePage, RecipeRow, recipe_page, recipe_rows, tags_in_use
from recipes.queries.stock import Cost, CostLine, Need, Sheet, cost, needs, sheet

__all__ = [
    "Catalogue",
    "Cost",
    "CostLine",
    "Need",
    "RecipePage",
    "RecipeRow",
    "Sheet",
    "catalogue",
    "cost",
    "needs",
    "recipe_page",
    "recipe_rows",
    "sheet",
    "tags_in_use",
]
