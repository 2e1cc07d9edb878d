"""A design's batter split into its portions: what goes into which jug, at one size of the batch.

No writes and no queries, as in `recipes.formulation`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Kind, Material
from recipes.design import Design
from recipes.errors import DesignError
from recipes.models import AmountBy, Destination, PortionBy
from recipes.portions import Into, PortionDesign
from shared import portions as shared
from shared.scaling import Scale
from soapshop.core.words import in_words

TEASPOON_ML = 5.0

BASIS = {AmountBy.WEIGHT: shared.Basis.WEIGHT, AmountBy.FATS: shared.Basis.FATS}

WHERE = {Destination.MOULD: shared.MOULD, Destination.KEPT: shared.KEPT_BACK}

# What the calculation calls a thing, and the field of a portion for it.
FIELD_OF = {"share": "size", "grams": "size", "layer": "size", "area": "size", "density": "size"}


@dataclass(frozen=True, slots=True)
class Bucket:
    """What is split: grams of batter before anything that goes into portions, grams of fats in it, its
    density in g/mL and the area in mm2 that it covers in the mould, None where there is no mould.

    `scale` is the size of the batch against the recipe's own: portions given in grams grow with it.
    """

    batter: float | None
    fats_share: float
    density: float
    area_mm2: float | None
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class GoesIn:
    """Something that is stirred into a jug, in grams."""

    material: Material
    grams: Decimal


@dataclass(frozen=True, slots=True)
class Jug:
    """A portion as it is weighed out: batter, and what goes in with it."""

    design: PortionDesign
    measured: shared.Jug
    goes_in: tuple[GoesIn, ...]

    @property
    def batter(self) -> Decimal:
        return self.measured.grams

    @property
    def grams(self) -> Decimal:
        """With all that goes in."""
        return self.batter + sum((one.grams for one in self.goes_in), Decimal(0))

    @property
    def in_mould(self) -> bool:
        return self.design.destination == Destination.MOULD

    def of(self, kind: Kind) -> tuple[GoesIn, ...]:
        return tuple(one for one in self.goes_in if one.material.kind == kind)


@dataclass(frozen=True, slots=True)
class Split:
    """The jugs in the order of pouring. `plan` is what they were worked out from."""

    plan: shared.Plan
    batter: Decimal
    jugs: tuple[Jug, ...]

    @property
    def moulded(self) -> Decimal:
        """Grams that go into this mould."""
        return sum((jug.grams for jug in self.jugs if jug.in_mould), Decimal(0))

    def totals(self) -> dict[Material, Decimal]:
        """Grams of everything that goes into jugs, over all of them."""
        totals: dict[Material, Decimal] = {}
        for jug in self.jugs:
            for one in jug.goes_in:
                totals[one.material] = totals.get(one.material, Decimal(0)) + one.grams
        return totals


def split(design: Design, bucket: Bucket, scale: Scale) -> Split:
    """Split the batter. Raises DesignError, which names the portion at fault."""
    plan = shared.Plan(
        portions=tuple(_portion(design, one, bucket, order) for order, one in enumerate(design.portions)),
        fats_share=bucket.fats_share,
        scale=scale,
        batter=bucket.batter,
        area_mm2=bucket.area_mm2,
        density=bucket.density,
    )
    try:
        solved = shared.solve(plan)
    except shared.PortionError as error:
        field, at_fault = FIELD_OF.get(error.field, error.field), next(iter(error.portions), "")
        raise DesignError(field, in_words(error.args[0]), portion=at_fault) from error
    by_name = {one.name: one for one in design.portions}
    return Split(
        plan, solved.batter, tuple(_jug(design, by_name[jug.portion.name], jug) for jug in solved.jugs)
    )


def _portion(design: Design, portion: PortionDesign, bucket: Bucket, order: int) -> shared.Portion:
    size = None if portion.size is None else float(portion.size)
    by = portion.size_by
    return shared.Portion(
        name=portion.name,
        share=size if by == PortionBy.SHARE else None,
        grams=size * bucket.scale if size is not None and by == PortionBy.GRAMS else None,
        layer_mm=size if by == PortionBy.LAYER else None,
        rest=by == PortionBy.REST,
        additions=tuple(_addition(into) for into in goes_into(design, portion)),
        destination=WHERE.get(portion.destination, portion.destination),
        order=order,
    )


def goes_into(design: Design, portion: PortionDesign) -> Iterator[Into]:
    """The recipe's fragrances, as far as the portion carries them, then what is its own."""
    scents = design.of(Kind.FRAGRANCE)
    whole = sum((part.amount for part in scents), Decimal(0))
    if whole:
        carried = whole if portion.fragrance is None else portion.fragrance
        yield from (Into(part.material, carried * part.amount / whole) for part in scents if carried)
    yield from portion.additions


def _addition(into: Into) -> shared.Addition:
    if into.amount_by == AmountBy.SPOONS:
        grams_to_kg = float(into.amount) * TEASPOON_ML * float(into.material.density or 0)
        return shared.Addition(into.material.name, grams_to_kg / 10, shared.Basis.FATS)
    return shared.Addition(into.material.name, float(into.amount), BASIS[into.amount_by])


def _jug(design: Design, portion: PortionDesign, jug: shared.Jug) -> Jug:
    goes_in = tuple(
        GoesIn(into.material, weighed.grams)
        for into, weighed in zip(goes_into(design, portion), jug.additions, strict=True)
    )
    return Jug(portion, jug, goes_in)
