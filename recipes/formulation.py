"""From a design to weights: worked out by `shared` into a card to weigh by.

No writes and no queries: the materials of a design and the lots are handed in, already read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from django.utils.translation import gettext

from inventory.models import Kind, Lot, Material
from recipes.design import LIST_OF, Design, DesignError, Mould, Part, check, design_of, mould_of
from recipes.models import SizeBy, Stage
from recipes.pot import Recipe, of_fats
from recipes.worked_out import WeighLine, WorkedOut
from shared import moulds
from shared.chemistry import AlkaliKind
from shared.lye_estimate import LyeEstimate, lye_estimate
from shared.saponification import FormulaError, Formulation, Limits, formulate
from shared.scaling import Scale, ScalingError, WeighedOut, weigh_out
from soapshop.core.models import Workshop
from soapshop.core.words import in_words, with_decimal_sign

__all__ = [
    "Design",
    "DesignError",
    "Mould",
    "Part",
    "WeighLine",
    "WorkedOut",
    "check",
    "design_of",
    "limits_of",
    "scale_of",
    "to_scale",
    "work_out",
]

MOST_GRAMS = 1_000_000.0
HUNDREDTH = Decimal("0.01")
TRIAL_GRAMS = 1000.0  # of fats, to see how the weights of a recipe stand to each other
OTHER_DENSITY = 1.0  # g/mL of what has no density of its own: assumed, no source

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
    to_batter: Decimal | None = None,
    to_bars: int | None = None,
    to_fats: Decimal | None = None,
) -> WorkedOut:
    """Work out what to weigh, in grams, at the recipe's own size or to one of the three others.

    `lots` gives, by material id, the lot whose certificate counts instead of the material's own values.
    Fats are rounded to the scale first, the lye is worked out for those and rounded down; the safety range
    is that of the rounded weights, so it is the range of what the scale will show. Raises DesignError.
    """
    check(design)
    bench = _Bench(design, workshop, Recipe(design, lots or {}))
    try:
        own = bench.own_fat_grams()
        fat_grams = bench.wanted_fat_grams(own, to_batter, to_bars, to_fats)
        scale = fat_grams / own
        return bench.card(fat_grams, to_bars or max(1, round(design.bars * scale)), scale)
    except ScalingError as error:
        raise _too_little(error, design) from error
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
class _Bench:
    """A checked design with the scale it is weighed on."""

    design: Design
    workshop: Workshop
    recipe: Recipe

    def own_fat_grams(self) -> float:
        """Weight of the fats at the recipe's own size."""
        if self.design.size_by == SizeBy.WEIGHTS:
            return self._fat_total()
        if self.design.size_by == SizeBy.FATS:
            return float(self.design.size_grams or 0)
        if self.design.size_by == SizeBy.BATTER:
            return float(self.design.size_grams or 0) / self._batter_to_fats(self._trial())
        return self._fat_grams_of_mould()

    def wanted_fat_grams(
        self, own: float, to_batter: Decimal | None, to_bars: int | None, to_fats: Decimal | None
    ) -> float:
        wanted = own
        if to_fats is not None:
            wanted = float(to_fats)
        elif to_batter is not None:
            wanted = float(to_batter) / self._batter_to_fats(self._trial())
        elif to_bars is not None:
            wanted = own * to_bars / self.design.bars
        if not 0 < wanted <= MOST_GRAMS:
            field = "fats" if self.design.by_weight else "size_grams"
            raise DesignError(field, gettext("A batch takes more than nothing and at most 1000 kg of fats."))
        return wanted

    def card(self, fat_grams: float, bars: int, scale: float) -> WorkedOut:
        formula = self.recipe.formula(fat_grams)
        out = weigh_out(formula, scale_of(self.workshop), limits=limits_of(self.workshop))
        lines = [
            *self._fat_lines(out, fat_grams),
            *self._alkali_lines(out),
            *self._liquid_lines(out),
            *(self._other_line(part, fat_grams) for part in (*self.recipe.acids, *self.recipe.inert)),
            *(_packaging_line(part, bars) for part in self.design.of(Kind.PACKAGING)),
        ]
        lines.sort(key=lambda line: WEIGHING_ORDER.index((line.kind, line.part.stage)))
        return WorkedOut(
            design=self.design,
            lines=tuple(lines),
            formulation=replace(out.planned, safety=out.safety),
            heat=_heat(out.planned),
            bars=bars,
            scale=scale,
        )

    def _fat_total(self) -> float:
        return float(sum(part.amount for part in self.design.of(Kind.FAT)))

    def _trial(self) -> Formulation:
        return formulate(self.recipe.formula(TRIAL_GRAMS))

    def _batter_to_fats(self, trial: Formulation) -> float:
        """Grams of batter for each gram of fats."""
        alkali = sum(alkali.grams for alkali in trial.alkalis)
        return (TRIAL_GRAMS + alkali + trial.liquid_grams + self._dry_grams()) / TRIAL_GRAMS

    def _dry_grams(self) -> float:
        """What a trial takes of all that is neither fat, alkali nor liquid."""
        return sum(of_fats(part, TRIAL_GRAMS) for part in (*self.recipe.acids, *self.recipe.inert))

    def _fat_grams_of_mould(self) -> float:
        mould, trial = mould_of(self.design), self._trial()
        volume = moulds.box_volume_ml(float(mould.length), float(mould.width), float(mould.height))
        batter = moulds.batter_for_volume(volume, moulds.batter_density(self._batter_parts(trial)))
        return batter / self._batter_to_fats(trial)

    def _batter_parts(self, trial: Formulation) -> Iterator[moulds.Part]:
        in_lye = sum(portion.grams for portion in trial.liquids if not portion.at_trace)
        lye = moulds.lye_solution_density(trial.alkalis, in_lye)
        yield moulds.Part(trial.lye_solution_grams, lye)
        fats = self.design.of(Kind.FAT)
        for part, grams in zip(fats, self.recipe.grams_of_fats(fats, TRIAL_GRAMS), strict=True):
            yield moulds.Part(grams, float(part.material.density or moulds.FAT_DENSITY))
        for part, grams in self._at_trace(trial):
            yield moulds.Part(grams, float(part.material.density or OTHER_DENSITY))
        for part in (*self.recipe.acids, *self.recipe.inert):
            grams = of_fats(part, TRIAL_GRAMS)
            yield moulds.Part(grams, float(part.material.density or OTHER_DENSITY))

    def _at_trace(self, trial: Formulation) -> Iterator[tuple[Part, float]]:
        for part, portion in zip(self.recipe.liquids, trial.liquids, strict=True):
            if portion.at_trace:
                yield part, portion.grams

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


def _packaging_line(part: Part, bars: int) -> WeighLine:
    pieces = float(part.amount) * bars
    return WeighLine(part, (part.amount * bars).to_integral_value(ROUND_CEILING), part.amount, pieces)


def _share(amount: Decimal, total: float) -> Decimal:
    return Decimal(str(round(100 * float(amount) / total, 3)))
