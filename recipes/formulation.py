"""From a design to weights: worked out by `shared` into a card to weigh by.

No writes and no queries: the materials of a design and the lots are handed in, already read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from django.utils.translation import gettext

from inventory.models import COUNTED, Kind, Lot, Material
from recipes.design import LIST_OF, Design, Mould, Part, check, design_of
from recipes.errors import DesignError
from recipes.models import SizeBy, Stage
from recipes.pot import Recipe, of_fats
from recipes.sizing import Size, Sizing
from recipes.splitting import Split
from recipes.trial import Trial, trial
from recipes.worked_out import WeighLine, WorkedOut
from shared import moulds
from shared.chemistry import AlkaliKind
from shared.density import DensityError
from shared.lye_estimate import LyeEstimate, lye_estimate
from shared.saponification import FormulaError, Formulation, Limits
from shared.scaling import Scale, ScalingError, WeighedOut, weigh_out
from soapshop.core.models import Workshop
from soapshop.core.words import in_words, with_decimal_sign

__all__ = [
    "Design",
    "DesignError",
    "Mould",
    "Part",
    "Size",
    "WeighLine",
    "WorkedOut",
    "check",
    "design_of",
    "limits_of",
    "scale_of",
    "to_scale",
    "work_out",
]

HUNDREDTH = Decimal("0.01")

WEIGHING_ORDER = (
    (Kind.FAT, Stage.USUAL),
    (Kind.LIQUID, Stage.USUAL),
    (Kind.ADDITIVE, Stage.LYE),
    (Kind.ALKALI, Stage.USUAL),
    (Kind.LIQUID, Stage.TRACE),
    (Kind.ADDITIVE, Stage.USUAL),
    (Kind.FAT, Stage.COOK),
    (Kind.COLOUR, Stage.USUAL),
    (Kind.FRAGRANCE, Stage.USUAL),
    (Kind.ADDITIVE, Stage.JUG),
    (Kind.COLOUR, Stage.JUG),
    (Kind.FRAGRANCE, Stage.JUG),
    (Kind.TOPPING, Stage.TOP),
    (Kind.EMBED, Stage.TOP),
    (Kind.PACKAGING, Stage.USUAL),
)

# What the calculations call a thing, and the form's field for it.
_FIELD_OF = {
    "liquid": "liquid_value",
    "acids": "additives",
    "amounts": "fats",
    "scale": "superfat",
    "length": "mould_length",
    "width": "mould_width",
    "height": "mould_height",
    "parts": "fats",
    "volume": "mould_length",
}


def work_out(
    design: Design,
    *,
    workshop: Workshop,
    lots: Mapping[int, Lot] | None = None,
    size: Size | None = None,
    on_hand: Mapping[int, Decimal] | None = None,
    densities: tuple[float, ...] = (),
) -> WorkedOut:
    """Work out what to weigh, in grams, at the recipe's own size or at another.

    `lots` gives, by material id, the lot whose certificate counts instead of the material's own values,
    `on_hand` the grams that there are, for a size that uses something up, and `densities` in g/mL how dense
    earlier pours were in the mould.

    Fats are rounded to the scale first, the lye is worked out for those and rounded down; the safety range
    is that of the rounded weights, so it is the range of what the scale will show. Raises DesignError.
    """
    check(design)
    recipe = Recipe(design, lots or {})
    wanted = size or Size()
    try:
        sizing = Sizing(trial(recipe, densities), scale_of(workshop), on_hand or {})
        fat_grams, own = sizing.at(wanted), sizing.own()
        bars = wanted.bars or max(1, round(design.bars * fat_grams / own))
        return _Card(design, workshop, recipe).at(sizing.tried.sized(fat_grams, fat_grams / own), bars)
    except ScalingError as error:
        raise _too_little(error, design) from error
    except DensityError as error:
        words = gettext("No batter is as light or as heavy as the densities of its materials make this one.")
        raise DesignError("fats", words) from error
    except (FormulaError, moulds.MouldError) as error:
        raise DesignError(_FIELD_OF.get(error.field, error.field), in_words(error.args[0])) from error


def limits_of(workshop: Workshop) -> Limits:
    """The workshop's bounds between safe, watch and stop, as chances."""
    return Limits(watch_from=float(workshop.watch_from) / 100, stop_from=float(workshop.stop_from) / 100)


def to_scale(grams: float, step: Decimal) -> Decimal:
    """Grams as a scale of that step shows them."""
    steps = (Decimal(str(round(grams, 6))) / step).to_integral_value(ROUND_HALF_UP)
    return (steps * step).quantize(HUNDREDTH)


def scale_of(workshop: Workshop) -> Scale:
    """The workshop's scale, and its finer one if it has one."""
    up_to = workshop.fine_scale_up_to or Decimal(0)
    return Scale(workshop.scale_step, workshop.fine_scale_step, up_to)


@dataclass(frozen=True, slots=True)
class _Card:
    """The lines of a checked design, on the workshop's scale."""

    design: Design
    workshop: Workshop
    recipe: Recipe

    def at(self, tried: Trial, bars: int) -> WorkedOut:
        fat_grams = tried.fats
        formula = self.recipe.formula(fat_grams)
        out = weigh_out(formula, scale_of(self.workshop), limits=limits_of(self.workshop))
        whole = [
            *self._fat_lines(out, fat_grams),
            *self._alkali_lines(out),
            *self._liquid_lines(out),
            *(self._other_line(part, fat_grams) for part in self.recipe.dry),
        ]
        split = self._split(tried, whole)
        lines = [
            *whole,
            *self._jug_lines(split, fat_grams),
            *(self._topping_line(part, bars) for part in self.design.of(Kind.TOPPING)),
            *(_pieces_line(part, bars) for kind in COUNTED for part in self.design.of(kind)),
        ]
        lines.sort(key=lambda line: WEIGHING_ORDER.index((line.kind, line.part.stage)))
        return WorkedOut(
            design=self.design,
            lines=tuple(lines),
            formulation=replace(out.planned, safety=out.safety),
            heat=_heat(out.planned),
            bars=bars,
            scale=tried.grown,
            split=split,
            density=tried.density,
        )

    def _fat_total(self) -> float:
        return float(sum(part.amount for part in self.design.of(Kind.FAT)))

    def _fat_lines(self, out: WeighedOut, fat_grams: float) -> Iterator[WeighLine]:
        total = self._fat_total()
        parts, grams = (*self.design.cooked, *self.design.after_cook), (*out.fats, *out.after_cook)
        exact = self.recipe.grams_of_fats(parts, fat_grams)
        for part, shown, unrounded in zip(parts, grams, exact, strict=True):
            yield WeighLine(
                part=part,
                grams=_kept(shown),
                share=part.amount if not self.design.by_weight else _share(part.amount, total),
                exact=unrounded,
                sap=self.recipe.sap(part),
                lot=self.recipe.lots.get(part.material.pk),
            )

    def _alkali_lines(self, out: WeighedOut) -> Iterator[WeighLine]:
        parts = self.design.of(Kind.ALKALI)
        for part, shown, alkali in zip(parts, out.alkalis, out.planned.alkalis, strict=True):
            yield WeighLine(
                part=part,
                grams=_kept(shown),
                share=part.amount,
                exact=alkali.grams,
                purity=self.recipe.purity(part),
                lot=self.recipe.lots.get(part.material.pk),
            )

    def _liquid_lines(self, out: WeighedOut) -> Iterator[WeighLine]:
        for part, shown, portion in zip(self.recipe.liquids, out.liquids, out.planned.liquids, strict=True):
            yield WeighLine(
                part=part,
                grams=_kept(shown),
                share=part.amount,
                exact=portion.grams,
                fine=self._is_fine(portion.grams),
                liquid=portion.liquid,
            )

    def _other_line(self, part: Part, fat_grams: float) -> WeighLine:
        grams = of_fats(part, fat_grams)
        shown = scale_of(self.workshop).pinch(grams)
        return WeighLine(part, _kept(shown), part.amount, grams, fine=self._is_fine(grams))

    def _split(self, tried: Trial, whole: Sequence[WeighLine]) -> Split | None:
        """The batter as it is weighed, split into the portions; where they tell its size, by that alone."""
        if not self.design.portions:
            return None
        told = self.design.size_by == SizeBy.PORTIONS
        batter = None if told else float(sum(line.grams for line in whole))
        return tried.split_into(scale_of(self.workshop), batter)

    def _jug_lines(self, split: Split | None, fat_grams: float) -> Iterator[WeighLine]:
        """What goes into the portions, over all of them."""
        in_recipe = {part.material: part for part in self.design.parts}
        for material, grams in split.totals().items() if split else ():
            share = _share(grams, fat_grams)
            part = replace(in_recipe.get(material) or Part(material, share), stage=Stage.JUG)
            yield WeighLine(part, _kept(grams), share, float(grams), fine=self._is_fine(float(grams)))

    def _topping_line(self, part: Part, bars: int) -> WeighLine:
        grams = float(part.amount) * bars
        shown = scale_of(self.workshop).pinch(grams)
        on_top = replace(part, stage=Stage.TOP)
        return WeighLine(on_top, _kept(shown), part.amount, grams, fine=self._is_fine(grams))

    def _is_fine(self, grams: float) -> bool:
        return not scale_of(self.workshop).shows(grams)


def _too_little(error: ScalingError, design: Design) -> DesignError:
    """What the scale cannot show, beside the material that is too little of."""
    names = ((part, part.material.name) for part in design.of(Kind.FAT))
    alkalis = ((part, AlkaliKind(part.material.alkali).label) for part in design.of(Kind.ALKALI))
    at_fault = next((part for part, name in (*names, *alkalis) if name == error.name), None)
    field = LIST_OF[at_fault.kind] if at_fault else _FIELD_OF.get(error.field, error.field)
    material: Material | None = at_fault.material if at_fault else None
    return DesignError(field, with_decimal_sign(in_words(error.args[0])), material)


def _heat(made: Formulation) -> LyeEstimate:
    """How hot the lye gets, mixed with what goes into it and not with what waits for trace."""
    for_lye = [portion for portion in made.liquids if not portion.at_trace]
    water = sum(portion.water for portion in for_lye)
    other = sum(portion.grams for portion in for_lye) - water
    return lye_estimate(made.alkalis, water, other_grams=max(other, 0.0))


def _kept(grams: Decimal) -> Decimal:
    """As the database keeps it."""
    return grams.quantize(HUNDREDTH)


def _pieces_line(part: Part, bars: int) -> WeighLine:
    pieces = float(part.amount) * bars
    if part.kind == Kind.EMBED:
        part = replace(part, stage=Stage.TOP)
    return WeighLine(part, (part.amount * bars).to_integral_value(ROUND_CEILING), part.amount, pieces)


def _share(amount: Decimal, total: float) -> Decimal:
    return Decimal(str(round(100 * float(amount) / total, 3)))
