"""What the pages of recipes show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import (
    Count,
    Exists,
    Max,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    prefetch_related_objects,
)
from django.db.models.functions import Lower
from django.utils.translation import gettext, ngettext

from recipes.models import DESIGN, Ingredient, Process, Recipe, Tag, Version, poured_words
from recipes.portions import PortionDesign, portions_of
from soapshop.core.templatetags.soapshop import short_day

PER_PAGE = 25
MOST_TAGS = 24


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
        said = words % {"number": self.version.number, "poured": poured_words(self.pours)}
        return " · ".join([said, *(tag.name for tag in self.recipe.tags.all())])

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
        told = [words % {"number": self.version.number, "poured": self.version.poured_words}, bars]
        if self.version.process == Process.HOT:
            told.append(str(Process.HOT.label).lower())
        return " · ".join(told)

    @property
    def is_latest(self) -> bool:
        return self.version.pk == self.latest.pk

    @property
    def begun_from(self) -> Version | None:
        """The version of another recipe that the first of these was begun from."""
        return self.versions[-1].begun_from


def recipe_rows(
    *,
    search: str = "",
    tag: str = "",
    archived: bool = False,
    page: str | int | None = 1,
    per_page: int = PER_PAGE,
) -> Page[RecipeRow]:
    """A page of recipes by name: those that have the tag and every word of the search. Four queries.

    A word is looked for in the name, the tags, and the note and materials of the last version.
    """
    found = _counted(Recipe.objects.filter(archived=archived))
    if tag:
        found = found.filter(Exists(_tags_named(name__iexact=tag)))
    for word in dict.fromkeys(search.split()):
        found = found.filter(_mentions(word))
    recipes: Page[Any] = Paginator(found.order_by(Lower("name"), "pk"), per_page).get_page(page)
    recipes.object_list = _rows(list(recipes.object_list))
    return recipes


def tags_in_use(*, archived: bool) -> list[Tag]:
    """The tags that most recipes in use have, or most of those put away, by name. One query."""
    found = Tag.objects.filter(recipes__archived=archived).annotate(often=Count("recipes"))
    return sorted(found.order_by("-often", "name")[:MOST_TAGS], key=lambda tag: tag.name.casefold())


def recipe_page(recipe: Recipe, number: int | None = None) -> RecipePage:
    """The last version of a recipe, or the one of that number. Raises Version.DoesNotExist."""
    with_names = recipe.versions.select_related("made_by", "begun_from__recipe", "recipe", "mould")
    versions = tuple(with_names.order_by("-number"))
    wanted = next((one for one in versions if number in (None, one.number)), None)
    if wanted is None:
        raise Version.DoesNotExist(f"{recipe} has no version {number}")
    prefetch_related_objects([wanted], *DESIGN)
    return RecipePage(wanted, versions)


def portions_from(version: int) -> tuple[PortionDesign, ...]:
    """The portions of the version of that key; none where there is no such version. Four queries."""
    found = Version.objects.with_portions().filter(pk=version).first()
    return portions_of(found) if found else ()


def _counted(recipes: QuerySet[Recipe]) -> QuerySet[Any]:
    """Adds the key of the last version as `last`, and `pours` and `poured_at` over all versions."""
    last = Version.objects.filter(recipe=OuterRef("pk")).order_by("-number").values("pk")[:1]
    return recipes.annotate(
        last=Subquery(last), pours=Sum("versions__pours", default=0), poured_at=Max("versions__poured_at")
    )


def _mentions(word: str) -> Q:
    """Of recipes that know their `last` version: whether the word stands anywhere in what they say."""
    used = Ingredient.objects.filter(version=OuterRef("last"), material__name__icontains=word)
    noted = Version.objects.filter(pk=OuterRef("last"), note__icontains=word)
    tagged = _tags_named(name__icontains=word)
    return Q(name__icontains=word) | Q(Exists(tagged)) | Q(Exists(used)) | Q(Exists(noted))


def _tags_named(**condition: str) -> QuerySet[Tag]:
    """Of the recipe outside."""
    return Tag.objects.filter(recipes=OuterRef("pk"), **condition)


def _rows(recipes: Sequence[Any]) -> list[RecipeRow]:
    prefetch_related_objects(recipes, "tags")
    versions = Version.objects.in_bulk([recipe.last for recipe in recipes])
    return [RecipeRow(recipe, versions[recipe.last], recipe.pours, recipe.poured_at) for recipe in recipes]
