"""What the pages of moulds show, and what past fills say of a batter."""

from __future__ import annotations

from dataclasses import dataclass

from recipes.cutting import number_of_bars
from recipes.models import Fill, Mould, Recipe
from shared.density import USUAL, Learned, learned, reading

MOST_SHOWN = 12


@dataclass(frozen=True, slots=True)
class MouldRow:
    """A mould with what it holds in mL and how many bars a filling gives."""

    mould: Mould
    millilitres: float
    bars: int


@dataclass(frozen=True, slots=True)
class Told:
    """A past fill with the density in g/mL that it speaks for."""

    fill: Fill
    density: float


@dataclass(frozen=True, slots=True)
class Learnt:
    """What a mould has been told by its fills, the newest first: of any batter, and by recipe if of several.

    Nothing is known of what went into them, so all of it starts from what is usual for a batter.
    """

    told: tuple[Told, ...]
    batter: Learned
    recipes: tuple[tuple[Recipe, Learned], ...]

    @property
    def latest(self) -> tuple[Told, ...]:
        return self.told[:MOST_SHOWN]


def mould_rows(*, archived: bool = False) -> list[MouldRow]:
    """All moulds by name, in use or put away. One query."""
    return [
        MouldRow(mould, mould.vessel.volume_ml, number_of_bars(mould))
        for mould in Mould.objects.filter(archived=archived)
    ]


def learnt(mould: Mould) -> Learnt:
    """What the fills of a mould have told. One query."""
    fills = mould.fills.select_related("recipe")
    told = tuple(Told(fill, _density(mould, fill)) for fill in fills)
    by_recipe: dict[Recipe, list[float]] = {}
    for one in told:
        by_recipe.setdefault(one.fill.recipe, []).append(one.density)
    recipes = tuple((recipe, learned(found, USUAL)) for recipe, found in by_recipe.items())
    batter = learned([one.density for one in told], USUAL)
    return Learnt(told, batter, recipes if len(recipes) > 1 else ())


def densities(mould: Mould, recipe: Recipe | None) -> tuple[float, ...]:
    """What past fills of a mould speak for, in g/mL: those of a recipe, or all if it has none. One query."""
    found = [(fill.recipe_id, _density(mould, fill)) for fill in mould.fills.all()]
    own = tuple(density for pk, density in found if recipe is not None and pk == recipe.pk)
    return own or tuple(density for _, density in found)


def _density(mould: Mould, fill: Fill) -> float:
    return reading(float(fill.grams), mould.vessel.volume_at(float(fill.height)))
