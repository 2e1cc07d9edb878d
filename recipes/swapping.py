"""What stands in for a fat that has run out, as its page shows it. No queries: all is handed in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Kind, Material
from recipes.blending import THOUSANDTH, Fat, Stretch, acid_bar, batch_of, rows_query
from recipes.design import WHOLE, Part
from recipes.explain.blends import explain_swap
from recipes.explain.explanation import Explanation
from recipes.formulation import WorkedOut
from shared.blend import figures_of
from shared.swap import Swap, find_swaps
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import number
from soapshop.core.words import in_words, with_decimal_sign


@dataclass(frozen=True, slots=True)
class Step:
    """A fat that steps in, its share of the blend in %, and the grams that the batch takes of it in all.

    `short` is what the shelf lacks of that.
    """

    fat: Fat
    share: str
    grams: Decimal
    short: Decimal


@dataclass(frozen=True, slots=True)
class Way:
    """A way to do without a fat. `changes` are sentences, `how` explains the weights of its steps, and `rows`
    asks the form of a recipe for these fats."""

    steps: tuple[Step, ...]
    changes: tuple[str, ...]
    how: tuple[Explanation, ...]
    bar: tuple[Stretch, ...]
    rows: str

    @property
    def name(self) -> str:
        return " + ".join(step.fat.name for step in self.steps)

    @property
    def enough(self) -> bool:
        return not any(step.short for step in self.steps)


def ways(
    worked_out: WorkedOut, missing: Material, fats: Sequence[Fat], workshop: Workshop, *, whole: bool
) -> tuple[Way, ...]:
    """The nearest ways to do without a fat of a recipe, from what is in stock or the `whole` catalogue.

    `fats` holds those of the recipe too. Raises BlendError.
    """
    named = {fat.name: fat for fat in fats}
    recipe = [
        (float(line.share), named[line.material.name].candidate(to_buy=whole))
        for line in worked_out.of(Kind.FAT)
    ]
    others = [fat.candidate(to_buy=whole) for fat in fats if whole or fat.on_hand]
    found = find_swaps(recipe, missing.name, others, batch=batch_of(worked_out))
    return tuple(_way(swap, worked_out, missing, named, workshop) for swap in found)


def bar_now(worked_out: WorkedOut, fats: Iterable[Fat]) -> tuple[Stretch, ...]:
    """The fatty acids of the recipe as it is."""
    named = {fat.name: fat.candidate() for fat in fats}
    lines = worked_out.of(Kind.FAT)
    return acid_bar(figures_of([(float(line.share), named[line.material.name]) for line in lines]).groups)


def _way(
    swap: Swap, worked_out: WorkedOut, missing: Material, named: Mapping[str, Fat], workshop: Workshop
) -> Way:
    amounts = _amounts(swap, worked_out, missing, named)
    whole = sum(amounts.values(), Decimal(0))
    size = worked_out.fat_grams / whole
    steps = []
    for part in swap.replacements:
        fat = named[part.name]
        grams = amounts[fat.material] * size
        short = max(grams - fat.on_hand, Decimal(0))
        steps.append(Step(fat, number(part.share, 1), grams, short))
    weights = ((step.fat, 100 * amounts[step.fat.material] / whole, step.grams) for step in steps)
    return Way(
        steps=tuple(steps),
        changes=tuple(with_decimal_sign(in_words(words)) for words in swap.words),
        how=tuple(explain_swap(weights, worked_out.fat_grams, workshop)),
        bar=acid_bar(swap.after.groups),
        rows=rows_query(amounts),
    )


def _amounts(
    swap: Swap, worked_out: WorkedOut, missing: Material, named: Mapping[str, Fat]
) -> dict[Material, Decimal]:
    """The rows of the recipe with the missing fat's amount handed on, to the last thousandth."""
    design = worked_out.design
    parts: tuple[Part, ...] = design.of(Kind.FAT)
    amounts = {part.material: part.amount for part in parts if part.material != missing}
    left = next(part.amount for part in parts if part.material == missing)
    whole = sum((part.amount for part in parts), Decimal(0)) if design.by_weight else WHOLE
    *first, last = swap.replacements
    for part in first:
        amount = (whole * Decimal(str(part.share)) / 100).quantize(THOUSANDTH)
        material = named[part.name].material
        amounts[material] = amounts.get(material, Decimal(0)) + amount
        left -= amount
    material = named[last.name].material
    amounts[material] = amounts.get(material, Decimal(0)) + left
    return amounts
