"""How many grams of fats a batch takes: at the recipe's own size, or at another that is asked for."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from inventory.models import Kind
from recipes.design import DesignError, Part, mould_of
from recipes.models import SizeBy
from recipes.pot import Recipe, of_fats
from shared import moulds
from shared.saponification import Formulation, formulate
from shared.scaling import Amount, Scale, to_bars, to_stock, to_volume, to_weight

MOST_GRAMS = 1_000_000.0
TRIAL_GRAMS = 1000.0  # of fats, to see how the weights of a recipe stand to each other
OTHER_DENSITY = 1.0  # g/mL of what has no density of its own: assumed, no source


@dataclass(frozen=True, slots=True)
class Size:
    """How large to pour, by one of these; by none, as the recipe says. Weights in grams.

    `millilitres` is what the mould holds. `use_up` names materials by id: the batch is as large as what there
    is of the scarcest of them allows.
    """

    bars: int | None = None
    batter: Decimal | None = None
    fats: Decimal | None = None
    millilitres: Decimal | None = None
    use_up: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Sizing:
    """A recipe with the scale it is weighed on, and by material id the grams that there are."""

    recipe: Recipe
    scale: Scale
    on_hand: Mapping[int, Decimal]

    def own(self) -> float:
        """Grams of fats at the recipe's own size."""
        design = self.recipe.design
        if design.size_by == SizeBy.WEIGHTS:
            return float(sum(part.amount for part in design.of(Kind.FAT)))
        if design.size_by == SizeBy.FATS:
            return float(design.size_grams or 0)
        if design.size_by == SizeBy.BATTER:
            return self._for_batter(float(design.size_grams or 0))
        mould = mould_of(design)
        return self._for_volume(
            moulds.box_volume_ml(float(mould.length), float(mould.width), float(mould.height))
        )

    def at(self, size: Size) -> float:
        """Grams of fats at the size that is asked for. Raises DesignError for none or for tons."""
        wanted = self._wanted(size)
        if not 0 < wanted <= MOST_GRAMS:
            field = "fats" if self.recipe.design.by_weight else "size_grams"
            raise DesignError(field, gettext("A batch takes more than nothing and at most 1000 kg of fats."))
        return wanted

    def _wanted(self, size: Size) -> float:
        if size.fats is not None:
            return float(size.fats)
        if size.batter is not None:
            return self._for_batter(float(size.batter))
        if size.millilitres is not None:
            return self._for_volume(float(size.millilitres))
        if size.use_up:
            return TRIAL_GRAMS * to_stock(self._amounts(size.use_up), self.scale).factor
        return self.own() * (to_bars(self.recipe.design.bars, size.bars) if size.bars is not None else 1)

    def _for_batter(self, grams: float) -> float:
        return TRIAL_GRAMS * to_weight(self._amounts(), grams)

    def _for_volume(self, millilitres: float) -> float:
        return TRIAL_GRAMS * to_volume(list(self._batter(self._trial())), millilitres)

    def _trial(self) -> Formulation:
        return formulate(self.recipe.formula(TRIAL_GRAMS))

    def _amounts(self, use_up: Collection[int] = ()) -> list[Amount]:
        """The weights of a trial; of what is to be used up with what there is."""
        return [
            Amount(part.material.name, grams, self._held(part) if part.material.pk in use_up else None)
            for part, grams in self._weights(self._trial())
        ]

    def _held(self, part: Part) -> float:
        return float(self.on_hand.get(part.material.pk, 0))

    def _weights(self, trial: Formulation) -> Iterator[tuple[Part, float]]:
        """What a trial takes of everything that goes into the pot."""
        design = self.recipe.design
        yield from self._fats()
        yield from ((part, of_fats(part, TRIAL_GRAMS)) for part in self.recipe.dry)
        for part, alkali in zip(design.of(Kind.ALKALI), trial.alkalis, strict=True):
            yield part, alkali.grams
        for part, portion in zip(self.recipe.liquids, trial.liquids, strict=True):
            yield part, portion.grams

    def _fats(self) -> Iterator[tuple[Part, float]]:
        fats = self.recipe.design.of(Kind.FAT)
        yield from zip(fats, self.recipe.grams_of_fats(fats, TRIAL_GRAMS), strict=True)

    def _batter(self, trial: Formulation) -> Iterator[moulds.Part]:
        in_lye = sum(portion.grams for portion in trial.liquids if not portion.at_trace)
        lye = moulds.lye_solution_density(trial.alkalis, in_lye)
        yield moulds.Part(trial.lye_solution_grams, lye)
        for part, grams in self._fats():
            yield moulds.Part(grams, float(part.material.density or moulds.FAT_DENSITY))
        for part, portion in zip(self.recipe.liquids, trial.liquids, strict=True):
            if portion.at_trace:
                yield moulds.Part(portion.grams, float(part.material.density or OTHER_DENSITY))
        for part in self.recipe.dry:
            grams = of_fats(part, TRIAL_GRAMS)
            yield moulds.Part(grams, float(part.material.density or OTHER_DENSITY))
