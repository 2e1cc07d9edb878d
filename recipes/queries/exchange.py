"""What files of recipes are written from, and what a file that is brought is held against."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import Exists, OuterRef, QuerySet
from django.db.models.functions import Lower

from inventory.models import Lot, Material
from inventory.queries import lots_to_use
from recipes.design import design_of
from recipes.models import Mould, Recipe, Version
from recipes.queries.taught import densities_of


def version_to_carry(recipe: Recipe, number: int) -> Version | None:
    """The version of that number of a recipe, with its ingredients and tags. Eight queries at most."""
    return _to_carry().filter(recipe=recipe, number=number).first()


def versions_to_carry() -> list[Version]:
    """The last version of every recipe by name, put away or not. Eight queries at most."""
    return list(_newest(_to_carry()).order_by(Lower("recipe__name")))


def first_lots(versions: Iterable[Version], day: date) -> dict[int, Lot]:
    """By material id, the lot that would be used first. One query."""
    materials = {one.material_id for version in versions for one in version.ingredients.all()}
    return {material: lots[0] for material, lots in lots_to_use(sorted(materials), day).items()}


def densities(versions: Iterable[Version]) -> dict[int, tuple[float, ...]]:
    """How dense earlier pours were in the moulds of versions to carry, in g/mL by the versions' keys.

    No query: the fills came along.
    """
    return {version.pk: densities_of(design_of(version).mould, version.recipe) for version in versions}


def names_taken() -> dict[str, int]:
    """The keys of all recipes by their names in small letters. One query."""
    return {name.lower(): pk for name, pk in Recipe.objects.values_list("name", "pk")}


def newest_of(recipes: Iterable[int]) -> dict[int, Version]:
    """The last versions of recipes by the recipes' keys, with ingredients. Six queries at most."""
    found = _newest(Version.objects.with_ingredients().filter(recipe__in=list(recipes)))
    return {version.recipe_id: version for version in found}


def all_materials() -> list[Material]:
    """Those put away last. One query."""
    return list(Material.objects.order_by("archived", "pk"))


def moulds_by_name() -> dict[str, Mould]:
    """All moulds by their names in small letters, put away or not. One query."""
    return {mould.name.lower(): mould for mould in Mould.objects.all()}


def _to_carry() -> QuerySet[Version]:
    return Version.objects.with_ingredients().prefetch_related("recipe__tags", "mould__fills")


def _newest(versions: QuerySet[Version]) -> QuerySet[Version]:
    newer = Version.objects.filter(recipe=OuterRef("recipe"), number__gt=OuterRef("number"))
    return versions.filter(~Exists(newer))
