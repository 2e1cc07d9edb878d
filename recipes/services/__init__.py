"""What is written down of recipes: the recipes and their versions, the tags, what comes in files."""

from recipes.services.exchange import Brought, Fate, Kept, keep, try_out
from recipes.services.recipes import (
    ChangedMeanwhile,
    archive,
    bring_back,
    create_recipe,
    mark_poured,
    save_look,
    save_version,
)
from recipes.services.tags import MOST_TAGS, set_tags

__all__ = [
    "MOST_TAGS",
    "Brought",
    "ChangedMeanwhile",
    "Fate",
    "Kept",
    "archive",
    "bring_back",
    "create_recipe",
    "keep",
    "mark_poured",
    "save_look",
    "save_version",
    "set_tags",
    "try_out",
]
