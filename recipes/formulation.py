"""From a design to weights: worked out by `shared` into a card to weigh by.

No writes and no queries: the materials of a design and the lots are handed in, already read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from django.utils.translation import gettext

from inventory.models import Kind, Lot
from recipes.design import (
    LIST_OF,
    Design,
    DesignError,
    Mould,
    Part,
    check,
    design_of,
    mould_of,
    purity_of,
    sap_of,
)
from recipes.models import SizeBy
from recipes.worked_out import WeighLine, WorkedOut
from shared import moulds
from shared.chemistry import AcidKind, AlkaliKind
from shared.lye_estimate import lye_estimate
from shared.saponification import (
    Acid,
    Alkali,
    AlkaliChoice,
    Fat,
    Formula,
    FormulaError,
    Formulation,
    Limits,
    LiquidMethod,
    Sap,
    assess,
    formulate,
)
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
    "to_scale",
    "work_out",
]

MOST_GRAMS = 1_000_000.0
HUNDREDTH = Decimal("0.01")
TRIAL_GRAMS = 1000.0  # of fats, to see how the weights of a recipe stand to each other

WEIGHING_ORDER = (
    Kind.FAT,
    Kind.LIQUID,
    Kind.ALKALI,
    Kind.ADDITIVE,
    Kind.COLOUR,
    Kind.FRAGRANCE,
    Kind.PACKAGING,
)
OTHER_DENSITY = 1.0  # g/mL of fragrance, colours and additives without one of their own: assumed, no source
OF_FATS = {Kind.ADDITIVE, Kind.COLOUR, Kind.FRAGRANCE}

# What the calculations call a thing, and the form's field for it.
_FIELD_OF = {
    "liquid": "liquid_value",
    "acids": "additives",
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
    Fats are rounded to the scale first and the lye is worked out for those; the safety range is that of the
    rounded weights, so it is the range of what the scale will show. Raises DesignError.
    """
    check(design)
    bench = _Bench(design, workshop, lots or {})
    try:
        own = bench.own_fat_grams()
        fat_grams = bench.wanted_fat_grams(own, to_batter, to_bars, to_fats)
        scale = fat_grams / own
        return bench.card(fat_grams, to_bars or max(1, round(design.bars * scale)), scale)
    except (FormulaError, moulds.MouldError) as error:
        raise DesignError(_FIELD_OF.get(error.field, error.field), in_words(error.args[0])) from error


def limits_of(workshop: Workshop) -> Limits:
    """The workshop's bounds between safe, watch and stop, as chances."""
    return Limits(watch_from=float(workshop.watch_from) / 100, stop_from=float(workshop.stop_from) / 100)


def to_scale(grams: float, step: Decimal) -> Decimal:
    """Grams as a scale of that step shows them."""
    steps = (Decimal(str(round(grams, 6))) / step).to_integral_value(ROUND_HALF_UP)
    return (steps * step).quantize(HUNDREDTH)


@dataclass(frozen=True, slots=True)
class _Bench:
    """A checked design with the scale and the lots it is worked out by."""

    design: Design
    workshop: Workshop
    lots: Mapping[int, Lot]

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
        fats = [self._fat_line(part, grams) for part, grams in self._fat_weights(fat_grams)]
        weighed = [(line.part, float(line.grams)) for line in fats]
        planned = self._formulate(weighed)
        alkalis = [
            self._alkali_line(part, alkali.grams)
            for part, alkali in zip(self.design.of(Kind.ALKALI), planned.alkalis, strict=True)
        ]
        additions = [self._other_line(part, planned.fat_grams) for part in self._additions()]
        others = [
            *additions,
            *(self._liquid_line(part, planned.liquid_grams) for part in self.design.of(Kind.LIQUID)),
            *(_packaging_line(part, bars) for part in self.design.of(Kind.PACKAGING)),
        ]
        lines = sorted([*fats, *alkalis, *others], key=lambda line: WEIGHING_ORDER.index(line.kind))
        safety = assess(
            self._fats(weighed),
            [self._alkali(line) for line in alkalis],
            _acids((line.part, float(line.grams)) for line in additions),
            scale_step=float(self.workshop.scale_step),
            limits=limits_of(self.workshop),
        )
        return WorkedOut(
            design=self.design,
            lines=tuple(lines),
            formulation=replace(planned, safety=safety),
            heat=lye_estimate(planned.alkalis, planned.liquid_grams),
            bars=bars,
            scale=scale,
        )

    def _fat_total(self) -> float:
        return float(sum(part.amount for part in self.design.of(Kind.FAT)))

    def _fat_weights(self, fat_grams: float) -> list[tuple[Part, float]]:
        total = self._fat_total()
        return [(part, fat_grams * float(part.amount) / total) for part in self.design.of(Kind.FAT)]

    def _formulate(self, fats: Sequence[tuple[Part, float]]) -> Formulation:
        fat_grams = sum(grams for _, grams in fats)
        formula = Formula(
            fats=tuple(self._fats(fats)),
            alkalis=tuple(self._alkali_choice(part) for part in self.design.of(Kind.ALKALI)),
            superfat=float(self.design.superfat),
            liquid_method=LiquidMethod(self.design.liquid_by),
            liquid_value=float(self.design.liquid_value),
            acids=tuple(_acids((part, _of_fats(part, fat_grams)) for part in self._additions())),
        )
        step, limits = float(self.workshop.scale_step), limits_of(self.workshop)
        return formulate(formula, scale_step=step, limits=limits)

    def _fats(self, weights: Sequence[tuple[Part, float]]) -> list[Fat]:
        return [Fat(part.material.name, grams, self._sap(part)) for part, grams in weights]

    def _alkali_choice(self, part: Part) -> AlkaliChoice:
        low, high = self._purity(part)
        return AlkaliChoice(AlkaliKind(part.material.alkali), low, high, float(part.amount))

    def _alkali(self, line: WeighLine) -> Alkali:
        low, high = self._purity(line.part)
        return Alkali(AlkaliKind(line.material.alkali), float(line.grams), low, high)

    def _sap(self, part: Part) -> Sap:
        lot = self.lots.get(part.material.pk)
        certified = lot.saponification_value if lot and lot.sap is not None else None
        return certified or sap_of(part)

    def _purity(self, part: Part) -> tuple[float, float]:
        lot = self.lots.get(part.material.pk)
        certified = lot.purity_range if lot and lot.purity is not None else None
        return certified or purity_of(part)

    def _trial(self) -> Formulation:
        return self._formulate(self._fat_weights(TRIAL_GRAMS))

    def _batter_to_fats(self, trial: Formulation) -> float:
        """Grams of batter for each gram of fats."""
        return (trial.fat_grams + trial.lye_solution_grams + self._other_grams(trial)) / trial.fat_grams

    def _other_grams(self, trial: Formulation) -> float:
        return sum(_of_fats(part, trial.fat_grams) for part in self._additions())

    def _additions(self) -> list[Part]:
        """Fragrance, colours and additives: what is given by its share of the fats."""
        return [part for part in self.design.parts if part.kind in OF_FATS]

    def _fat_grams_of_mould(self) -> float:
        mould, trial = mould_of(self.design), self._trial()
        volume = moulds.box_volume_ml(float(mould.length), float(mould.width), float(mould.height))
        batter = moulds.batter_for_volume(volume, moulds.batter_density(self._batter_parts(trial)))
        return batter / self._batter_to_fats(trial)

    def _batter_parts(self, trial: Formulation) -> list[moulds.Part]:
        lye = moulds.lye_solution_density(trial.alkalis, trial.liquid_grams)
        fats = self._fat_weights(trial.fat_grams)
        others = [(part, _of_fats(part, trial.fat_grams)) for part in self._additions()]
        return [
            moulds.Part(trial.lye_solution_grams, lye),
            *(moulds.Part(grams, float(part.material.density or moulds.FAT_DENSITY)) for part, grams in fats),
            *(moulds.Part(grams, float(part.material.density or OTHER_DENSITY)) for part, grams in others),
        ]

    def _fat_line(self, part: Part, grams: float) -> WeighLine:
        return WeighLine(
            part=part,
            grams=self._on_the_scale(part, grams),
            share=part.amount if not self.design.by_weight else _share(part.amount, self._fat_total()),
            exact=grams,
            sap=self._sap(part),
            lot=self.lots.get(part.material.pk),
        )

    def _alkali_line(self, part: Part, grams: float) -> WeighLine:
        return WeighLine(
            part=part,
            grams=self._on_the_scale(part, grams),
            share=part.amount,
            exact=grams,
            purity=self._purity(part),
            lot=self.lots.get(part.material.pk),
        )

    def _on_the_scale(self, part: Part, grams: float) -> Decimal:
        """Grams rounded to the scale; what decides the superfat must show on it."""
        shown = self._as_shown(grams)
        if shown <= 0:
            words = gettext(
                "%(material)s comes to %(grams)s g; your scale shows steps of %(step)s g. "
                "Make the batch larger."
            )
            figures = {
                "material": part.material,
                "grams": with_decimal_sign(f"{grams:.2g}"),
                "step": with_decimal_sign(f"{self.workshop.step_for(grams).normalize():f}"),
            }
            raise DesignError(LIST_OF[part.kind], words % figures, part.material)
        return shown

    def _as_shown(self, grams: float) -> Decimal:
        """Rounded to the finer scale where so little is weighed on it.

        The safety range goes by the step of the first scale for every weighing: nobody can be sure which
        one was used, and the wider range is the cautious one.
        """
        return to_scale(grams, self.workshop.step_for(grams))

    def _liquid_line(self, part: Part, liquid_grams: float) -> WeighLine:
        grams = liquid_grams * float(part.amount) / 100
        return WeighLine(part, self._on_the_scale(part, grams), part.amount, grams)

    def _other_line(self, part: Part, fat_grams: float) -> WeighLine:
        """A pinch that the scale cannot show is given to a hundredth of a gram."""
        grams = _of_fats(part, fat_grams)
        shown = self._as_shown(grams)
        if shown > 0:
            return WeighLine(part, shown, part.amount, grams)
        return WeighLine(part, max(to_scale(grams, HUNDREDTH), HUNDREDTH), part.amount, grams, fine=True)


def _packaging_line(part: Part, bars: int) -> WeighLine:
    pieces = float(part.amount) * bars
    return WeighLine(part, (part.amount * bars).to_integral_value(ROUND_CEILING), part.amount, pieces)


def _acids(weights: Iterable[tuple[Part, float]]) -> list[Acid]:
    return [Acid(AcidKind(part.material.acid), grams) for part, grams in weights if part.material.acid]


def _of_fats(part: Part, fat_grams: float) -> float:
    return fat_grams * float(part.amount) / 100


def _share(amount: Decimal, total: float) -> Decimal:
    return Decimal(str(round(100 * float(amount) / total, 3)))
