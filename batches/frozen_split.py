"""How a batch was meant to be split, as it keeps it: the part of its frozen recipe that tells of portions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from recipes.models import Destination, Trace
from recipes.splitting import WHERE, Jug, Split
from shared.cross_section import Technique
from shared.portions import Addition, Basis, Plan, Portion
from shared.scaling import Scale


@dataclass(frozen=True, slots=True)
class FrozenInto:
    """Something that goes into a portion: % of the portion's weight or of its fats."""

    material: int
    name: str
    kind: str
    amount: float
    basis: str


@dataclass(frozen=True, slots=True)
class FrozenPortion:
    """A portion with its size at this batch: %, grams or mm; none of them for what takes the rest.

    `colour` is how it is to look in the bar, `mould` the other mould that it goes into.
    """

    name: str
    share: float | None
    grams: float | None
    layer_mm: float | None
    colour: str
    trace: str
    technique: str
    destination: str
    mould: str
    into: tuple[FrozenInto, ...]

    @classmethod
    def of(cls, jug: Jug) -> FrozenPortion:
        meant, size = jug.design, jug.measured.portion
        return cls(
            name=meant.name,
            share=size.share,
            grams=size.grams,
            layer_mm=size.layer_mm,
            colour=meant.colour
            or next((one.material.colour for one in jug.goes_in if one.material.colour), ""),
            trace=meant.trace,
            technique=meant.technique,
            destination=meant.destination,
            mould=str(meant.other_mould or ""),
            into=tuple(
                FrozenInto(one.material.pk, one.material.name, one.material.kind, said.amount, said.basis)
                for one, said in zip(jug.goes_in, size.additions, strict=True)
            ),
        )

    @property
    def trace_label(self) -> str:
        return str(Trace(self.trace).label).lower() if self.trace else ""

    @property
    def takes_the_rest(self) -> bool:
        return self.share is None and self.grams is None and self.layer_mm is None

    @property
    def technique_label(self) -> str:
        return Technique(self.technique).label

    def planned(self, order: int) -> Portion:
        """As the calculation takes it."""
        return Portion(
            name=self.name,
            share=self.share,
            grams=self.grams,
            layer_mm=self.layer_mm,
            rest=self.takes_the_rest,
            additions=tuple(Addition(one.name, one.amount, Basis(one.basis)) for one in self.into),
            destination=WHERE.get(Destination(self.destination), self.destination),
            order=order,
        )


@dataclass(frozen=True, slots=True)
class FrozenSplit:
    """The portions in the order of pouring, and what their sizes hang on: grams of batter, % of fats in it,
    its density in g/mL and the area of the mould in mm2."""

    batter: Decimal
    fats_share: float
    density: float
    area_mm2: float | None
    portions: tuple[FrozenPortion, ...]

    @classmethod
    def of(cls, split: Split) -> FrozenSplit:
        """Where no portion takes the rest, all are kept as shares: what is really in the bucket is never to
        the gram what was planned, and each then gives or takes its part."""
        portions = tuple(FrozenPortion.of(jug) for jug in split.jugs)
        if not any(portion.takes_the_rest for portion in portions):
            shares = (100 * float(jug.batter / split.batter) for jug in split.jugs)
            portions = tuple(
                replace(portion, share=share, grams=None, layer_mm=None)
                for portion, share in zip(portions, shares, strict=True)
            )
        return cls(
            batter=split.batter,
            fats_share=split.plan.fats_share,
            density=split.plan.density or 1.0,
            area_mm2=split.plan.area_mm2,
            portions=portions,
        )

    def named(self, name: str) -> FrozenPortion | None:
        return next((portion for portion in self.portions if portion.name == name), None)

    def plan(self, scale: Scale, *, batter: float, without: Iterable[str] = ()) -> Plan:
        """For so many grams that there really are, without the portions that were left out."""
        left_out = set(without)
        planned = (portion.planned(order) for order, portion in enumerate(self.portions))
        return Plan(
            portions=tuple(portion for portion in planned if portion.name not in left_out),
            fats_share=self.fats_share,
            scale=scale,
            batter=batter,
            area_mm2=self.area_mm2,
            density=self.density,
        )

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> FrozenSplit:
        found = (
            FrozenPortion(**{**one, "into": tuple(FrozenInto(**into) for into in one["into"])})
            for one in data["portions"]
        )
        return cls(**{**data, "batter": Decimal(data["batter"]), "portions": tuple(found)})
