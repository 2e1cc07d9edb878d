"""Reads that feed the pages of recipes, and what batches ask of them."""

from recipes.queries.catalogue import Catalogue, catalogue
from recipes.queries.pages import (
    RecipePage,
    RecipeRow,
    portions_from,
    recipe_page,
    recipe_rows,
    tags_in_use,
)
from recipes.queries.stock import Cost, CostLine, Need, Sheet, cost, needs, scent, sheet
from recipes.queries.taught import bad_news, densities_of, outcomes

__all__ = [
    "Catalogue",
    "Cost",
    "CostLine",
    "Need",
    "RecipePage",
    "RecipeRow",
    "Sheet",
    "bad_news",
    "catalogue",
    "cost",
    "densities_of",
    "needs",
    "outcomes",
    "portions_from",
    "recipe_page",
    "recipe_rows",
    "scent",
    "sheet",
    "tags_in_use",
]
