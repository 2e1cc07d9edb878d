"""The shelf: bars that are ready to sell, by recipe."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.core.paginator import Page, Paginator
from django.db.models import Q, Sum
from django.db.models.functions import Lower

from batches.models import Cure
from batches.queries.rows import CureRow, cure_row
from recipes.models import Recipe

PER_PAGE = 25


@dataclass(frozen=True, slots=True)
class ShelfGroup:
    """A recipe with all its bars to sell, and its batches on this page, the oldest first."""

    recipe: Recipe
    bars: int
    rows: tuple[CureRow, ...]


@dataclass(frozen=True, slots=True)
class Shelf:
    """A page of the shelf, and all bars to sell of what was searched for."""

    page: Page[Cure]
    groups: tuple[ShelfGroup, ...]
    bars: int


def shelf(*, today: date, search: str = "", page: str | int | None = 1, per_page: int = PER_PAGE) -> Shelf:
    """A page of the shelf by recipe, of each the bars that were ready first in front. Four queries."""
    name = "batch__version__recipe__name"
    found = Cure.objects.ready(today)
    if search:
        found = found.filter(Q((f"{name}__icontains", search)) | Q(batch__code__icontains=search))
    ordered = found.select_related("batch__version__recipe").order_by(Lower(name), "ready_on", "pk")
    shown = Paginator(ordered, per_page).get_page(page)
    held = [(recipe, list(cures)) for recipe, cures in groupby(shown, key=_recipe)]
    bars = _bars((recipe for recipe, _ in held), today)
    groups = tuple(
        ShelfGroup(recipe, bars[recipe.pk], tuple(cure_row(cure, today) for cure in cures))
        for recipe, cures in held
    )
    return Shelf(shown, groups, found.aggregate(total=Sum("bars_left", default=0))["total"])


def _recipe(cure: Cure) -> Recipe:
    return cure.batch.version.recipe


def _bars(recipes: Iterable[Recipe], today: date) -> dict[int, int]:
    """By recipe id all its bars to sell."""
    ready = Cure.objects.ready(today).filter(batch__version__recipe__in=list(recipes))
    return dict(ready.values_list("batch__version__recipe").annotate(total=Sum("bars_left")))
