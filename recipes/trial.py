"""A recipe with so many grams of fats, unrounded: what of everything goes in, and what room it takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from inventory.models import Kind, Material
from recipes.pot import Recipe, of_fats
from recipes.splitting import Bucket, Split, split
from shared.density import Learned, learned
from shared.moulds import FAT_DENSITY, Part, batter_density, lye_solution_density
from shared.saponification import Formulation, formulate
from shared.scaling import Scale

OTHER_DENSITY = 1.0  # g/mL of what has no density of its own: assumed, no source


TRIAL_GRAMS = 1000.0  # of fats, to see how the weights of a recipe stand to each other


@dataclass(frozen=True, slots=True)
class Trial:
    """A recipe tried out with so many grams of fats. `weights` are what goes into the whole batter, `density`
    is that of it in g/mL.

    `grown` is its size against the recipe's own. `split` is None where the batter is not split.
    """

    recipe: Recipe
    fats: float
    weights: tuple[tuple[Material, float], ...]
    density: Learned
    grown: float = 1.0
    split: Split | None = None

    @property
    def batter(self) -> float:
        """Grams before anything goes into portions."""
        return sum(grams for _, grams in self.weights)

    @property
    def moulded_ml(self) -> float:
        """Millilitres of what goes into the mould."""
        grams = self.batter if self.split is None else float(self.split.moulded)
        return grams / self.density.mean

    @property
    def takes(self) -> tuple[tuple[Material, float], ...]:
        """What it takes of everything that goes into the pot and into the jugs."""
        in_jugs = self.split.totals() if self.split else {}
        return (*self.weights, *((material, float(grams)) for material, grams in in_jugs.items()))

    def sized(self, fats: float, grown: float) -> Trial:
        """The same with so many grams of fats, not split."""
        times = fats / self.fats
        weights = tuple((material, grams * times) for material, grams in self.weights)
        return replace(self, fats=fats, weights=weights, grown=grown, split=None)

    def split_into(self, scale: Scale, batter: float | None) -> Split:
        """Its portions, of so many grams of batter or of as many as they need. Raises DesignError."""
        mould = self.recipe.design.mould
        bucket = Bucket(
            batter=batter,
            fats_share=100 * self.fats / self.batter,
            density=self.density.mean,
            area_mm2=mould.vessel.area_mm2 * self.grown if mould else None,
            scale=self.grown,
        )
        return split(self.recipe.design, bucket, scale)


def trial(recipe: Recipe, densities: tuple[float, ...] = ()) -> Trial:
    """The recipe with TRIAL_GRAMS of fats, not split. `densities` are those of earlier pours in g/mL.

    Raises FormulaError, MouldError and DensityError for what cannot be made.
    """
    made = formulate(recipe.formula(TRIAL_GRAMS))
    density = learned(densities, batter_density(list(_parts(recipe, made))))
    return Trial(recipe, TRIAL_GRAMS, tuple(_whole(recipe, made)), density)


def _whole(recipe: Recipe, made: Formulation) -> Iterator[tuple[Material, float]]:
    design = recipe.design
    parts = design.of(Kind.FAT)
    grams = recipe.grams_of_fats(parts, TRIAL_GRAMS)
    yield from zip((part.material for part in parts), grams, strict=True)
    yield from ((part.material, of_fats(part, TRIAL_GRAMS)) for part in recipe.dry)
    for part, alkali in zip(design.of(Kind.ALKALI), made.alkalis, strict=True):
        yield part.material, alkali.grams
    for part, portion in zip(recipe.liquids, made.liquids, strict=True):
        yield part.material, portion.grams


def _parts(recipe: Recipe, made: Formulation) -> Iterator[Part]:
    """What goes into the whole batter with the lye as one, each with its density."""
    in_lye = sum(portion.grams for portion in made.liquids if not portion.at_trace)
    yield Part(made.lye_solution_grams, lye_solution_density(made.alkalis, in_lye))
    parts = recipe.design.of(Kind.FAT)
    for part, grams in zip(parts, recipe.grams_of_fats(parts, TRIAL_GRAMS), strict=True):
        yield Part(grams, float(part.material.density or FAT_DENSITY))
    for part, portion in zip(recipe.liquids, made.liquids, strict=True):
        if portion.at_trace:
            yield Part(portion.grams, float(part.material.density or OTHER_DENSITY))
    for part in recipe.dry:
        yield Part(of_fats(part, TRIAL_GRAMS), float(part.material.density or OTHER_DENSITY))
