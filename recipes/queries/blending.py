"""What the blend finder and the swap choose from, and the recipes that a blend may keep near to."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Lower

from inventory.models import Kind, Material
from inventory.queries import last_prices, lots_to_use
from recipes.blending import Fat, fat_of
from recipes.models import Recipe, Version


def fats(*, day: date, warn_days: int, also: Iterable[int] = ()) -> tuple[Fat, ...]:
    """All fats in use, and those `also` named by key, by name. Three queries."""
    found = Material.objects.filter(kind=Kind.FAT).filter(Q(archived=False) | Q(pk__in=list(also)))
    materials = list(found.order_by(Lower("name")))
    keys = [material.pk for material in materials]
    shelf, prices = lots_to_use(keys, day), last_prices(keys)
    return tuple(
        fat_of(each, shelf.get(each.pk, ()), prices.get(each.pk), day=day, warn_days=warn_days)
        for each in materials
    )


def recipes_in_use() -> QuerySet[Recipe]:
    """By name."""
    return Recipe.objects.filter(archived=False).order_by(Lower("name"))


def last_version(recipe: int) -> Version | None:
    """The last version of the recipe of that key, with its ingredients. Three queries."""
    return Version.objects.with_ingredients().filter(recipe=recipe).order_by("-number").first()


def versions(keys: Iterable[int]) -> dict[int, Version]:
    """The versions of those keys that there are, with their ingredients. Seven queries at most."""
    return Version.objects.with_ingredients().in_bulk(list(keys))


def versions_to_compare(also: Iterable[int]) -> list[Version]:
    """The last version of each recipe in use, and all versions of the recipes `also` named by key.

    By name, the newest first. One query.
    """
    newer = Version.objects.filter(recipe=OuterRef("recipe"), number__gt=OuterRef("number"))
    wanted = (Q(recipe__archived=False) & ~Exists(newer)) | Q(recipe__in=list(also))
    found = Version.objects.filter(wanted).select_related("recipe")
    return list(found.order_by(Lower("recipe__name"), "recipe", "-number"))
