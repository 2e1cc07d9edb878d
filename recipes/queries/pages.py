"""What the pages of recipes show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Max, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Lower
from django.utils.translation import gettext, ngettext

from recipes.models import Recipe, Version, poured_words
from soapshop.core.templatetags.soapshop import short_day

PER_PAGE = 25


@dataclass(frozen=True, slots=True)
class RecipeRow:
    """A recipe by its last version, with how often any of its versions was poured."""

    recipe: Recipe
    version: Version
    pours: int
    poured_at: datetime | None

    @property
    def words(self) -> str:
        words = gettext("version %(number)d, %(poured)s")
        return words % {"number": self.version.number, "poured": poured_words(self.pours)}

    @property
    def last(self) -> str:
        return gettext("last poured %(day)s") % {"day": short_day(self.poured_at)} if self.poured_at else ""


@dataclass(frozen=True, slots=True)
class RecipePage:
    """One version of a recipe among all of them, the newest first."""

    version: Version
    versions: tuple[Version, ...]

    @property
    def latest(self) -> Version:
        return self.versions[0]

    @property
    def words(self) -> str:
        bars = ngettext("%(bars)d bar", "%(bars)d bars", self.version.bars) % {"bars": self.version.bars}
        words = gettext("version %(number)d, %(poured)s")
        return f"{words % {'number': self.version.number, 'poured': self.version.poured_words}} · {bars}"

    @property
    def is_latest(self) -> bool:
        return self.version.pk == self.latest.pk


def recipe_rows(
    *, search: str = "", archived: bool = False, page: str | int | None = 1, per_page: int = PER_PAGE
) -> Page[RecipeRow]:
    """A page of recipes by name. Three queries, however many there are."""
    found = _counted(Recipe.objects.filter(archived=archived, name__icontains=search))
    recipes: Page[Any] = Paginator(found.order_by(Lower("name"), "pk"), per_page).get_page(page)
    recipes.object_list = _rows(list(recipes.object_list))
    return recipes


def recipe_page(recipe: Recipe, number: int | None = None) -> RecipePage:
    """The last version of a recipe, or the one of that number. Raises Version.DoesNotExist."""
    versions = tuple(recipe.versions.select_related("made_by").order_by("-number"))
    wanted = next((one for one in versions if number in (None, one.number)), None)
    if wanted is None:
        raise Version.DoesNotExist(f"{recipe} has no version {number}")
    version = Version.objects.with_ingredients().select_related("made_by").get(pk=wanted.pk)
    return RecipePage(version, versions)


def _counted(recipes: QuerySet[Recipe]) -> QuerySet[Any]:
    """Adds the key of the last version as `last`, and `pours` and `poured_at` over all versions."""
    last = Version.objects.filter(recipe=OuterRef("pk")).order_by("-number").values("pk")[:1]
    return recipes.annotate(
        last=Subquery(last), pours=Sum("versions__pours", default=0), poured_at=Max("versions__poured_at")
    )


def _rows(recipes: Sequence[Any]) -> list[RecipeRow]:
    versions = Version.objects.in_bulk([recipe.last for recipe in recipes])
    return [RecipeRow(recipe, versions[recipe.last], recipe.pours, recipe.poured_at) for recipe in recipes]
