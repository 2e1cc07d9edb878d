"""The copy of a recipe that a batch keeps: what was shown when it was planned, and what was really used.

Stored as JSON in `Batch.frozen`; nothing in it follows later edits of recipe, material, lot or settings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from typing import Any

from batches.models import Line
from inventory.models import Lot, Material
from recipes.formulation import Design, Mould, WorkedOut
from recipes.models import NATURAL, Process, Stage, Version
from shared.saponification import Limits, SafetyRange, Sap
from shared.scaling import Scale
from soapshop.core.models import Workshop


@dataclass(frozen=True, slots=True)
class FrozenUse:
    """A lot that was used for a line. Quantity in grams, unit cost in the workshop's currency for a gram."""

    lot: str
    supplier: str
    quantity: Decimal
    unit_cost: Decimal
    sap: Sap | None
    purity: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class FrozenLine:
    """A material with what it was planned at, and the lots that were really used once it is poured.

    `sap` of a liquid or an additive is that of the whole of it, for the fat in it; `acid_percent` is how much
    of it is its acid. `dissolved` is said of a ready-made lye solution.
    """

    material: int
    name: str
    inci_name: str
    kind: str
    planned: Decimal
    sap: Sap | None
    alkali: str
    purity: tuple[float, float] | None
    acid: str
    acid_percent: float = 100.0
    dissolved: bool = False
    stage: str = Stage.USUAL
    used: tuple[FrozenUse, ...] = ()

    @classmethod
    def of(cls, material: Material, planned: Decimal, lot: Lot | None, stage: str = "") -> FrozenLine:
        """The line as planned; the certificate of the lot it will come from counts where there is one."""
        contents = material.contents
        return cls(
            material=material.pk,
            name=material.name,
            inci_name=material.inci_name,
            kind=material.kind,
            planned=planned,
            sap=contents.effective_sap if contents else lot.saponification_value if lot else material.sap,
            alkali=material.alkali,
            purity=lot.purity_range if lot else material.purity_range,
            acid=material.acid,
            acid_percent=material.acid_percent,
            dissolved=material.dissolved,
            stage=stage,
        )


@dataclass(frozen=True, slots=True)
class FrozenRecipe:
    """Weights in grams; superfat, limits and safety figures in per cent."""

    recipe: str
    version: int
    note: str
    superfat: Decimal
    liquid_by: str
    liquid_value: Decimal
    cure_days: int
    bar_colour: str
    bars: int
    batter: Decimal
    mould: tuple[Decimal, Decimal, Decimal] | None
    scale_step: Decimal
    watch_from: Decimal
    stop_from: Decimal
    currency: str
    lye_peak: float | None
    lye_boils: bool
    lye_concentration: float
    safety: Mapping[str, Any]
    lines: tuple[FrozenLine, ...]
    process: str = Process.COLD
    fine_scale_step: Decimal | None = None
    fine_scale_up_to: Decimal | None = None

    @property
    def limits(self) -> Limits:
        return Limits(float(self.watch_from) / 100, float(self.stop_from) / 100)

    @property
    def scale(self) -> Scale:
        """What it is weighed on. Batches of before there was a finer one know of none."""
        return Scale(self.scale_step, self.fine_scale_step, self.fine_scale_up_to or Decimal(0))

    def line_for(self, line: Line) -> FrozenLine:
        """The frozen copy of a line of the card; for one added at the bench, the material as it is now."""
        planned = (known for known in self.lines if known.material == line.material_id)
        return next(planned, None) or FrozenLine.of(line.material, line.planned, None)

    def as_poured(self, lines: Iterable[Line], safety: SafetyRange) -> FrozenRecipe:
        """The recipe with the lots really used and the safety range of what is in the pot.

        `lines` with their weighings and the weighings' lots, deliveries and suppliers fetched.
        """
        poured = tuple(replace(self.line_for(line), used=_uses(line)) for line in lines)
        return replace(self, lines=poured, safety=asdict(safety))

    def to_json(self) -> dict[str, Any]:
        return _plain(asdict(self))  # type: ignore[no-any-return]

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> FrozenRecipe:
        return cls(
            **{
                **data,
                "superfat": Decimal(data["superfat"]),
                "liquid_value": Decimal(data["liquid_value"]),
                "batter": Decimal(data["batter"]),
                "mould": _three(data["mould"]),
                "scale_step": Decimal(data["scale_step"]),
                "fine_scale_step": _decimal(data.get("fine_scale_step")),
                "fine_scale_up_to": _decimal(data.get("fine_scale_up_to")),
                "watch_from": Decimal(data["watch_from"]),
                "stop_from": Decimal(data["stop_from"]),
                "lines": tuple(_line(line) for line in data["lines"]),
            }
        )


def freeze(
    *, version: Version, design: Design, worked_out: WorkedOut, lots: Mapping[int, Lot], workshop: Workshop
) -> FrozenRecipe:
    """Copies all that was shown of a version worked out to a size. `lots` to take from are by material id."""
    return FrozenRecipe(
        recipe=version.recipe.name,
        version=version.number,
        note=version.note,
        superfat=design.superfat,
        liquid_by=design.liquid_by,
        liquid_value=design.liquid_value,
        cure_days=version.cure_days,
        bar_colour=version.bar_colour or NATURAL,
        bars=worked_out.bars,
        batter=worked_out.batter_grams,
        mould=_dimensions(design.mould),
        scale_step=workshop.scale_step,
        watch_from=workshop.watch_from,
        stop_from=workshop.stop_from,
        currency=workshop.currency,
        lye_peak=worked_out.heat.most_celsius,
        lye_boils=worked_out.heat.boils,
        lye_concentration=worked_out.formulation.lye_concentration,
        safety=asdict(worked_out.formulation.safety),
        lines=tuple(
            FrozenLine.of(line.material, line.grams, lots.get(line.material.pk), line.part.stage)
            for line in worked_out.weighed_lines
        ),
        process=design.process,
        fine_scale_step=workshop.fine_scale_step,
        fine_scale_up_to=workshop.fine_scale_up_to,
    )


def _uses(line: Line) -> tuple[FrozenUse, ...]:
    return tuple(
        FrozenUse(
            lot=weighing.lot.code,
            supplier=str(weighing.lot.delivery.supplier) if weighing.lot.delivery else "",
            quantity=weighing.quantity,
            unit_cost=weighing.lot.unit_cost,
            sap=weighing.lot.saponification_value,
            purity=weighing.lot.purity_range,
        )
        for weighing in line.weighings.all()
    )


def _dimensions(mould: Mould | None) -> tuple[Decimal, Decimal, Decimal] | None:
    return (mould.length, mould.width, mould.height) if mould else None


def _plain(value: Any) -> Any:
    """JSON types only; Decimals as text, so that no digit is lost."""
    match value:
        case Decimal():
            return str(value)
        case dict():
            return {key: _plain(item) for key, item in value.items()}
        case tuple() | list():
            return [_plain(item) for item in value]
        case _:
            return value


def _line(data: Mapping[str, Any]) -> FrozenLine:
    return FrozenLine(
        **{
            **data,
            "planned": Decimal(data["planned"]),
            "sap": _sap(data["sap"]),
            "purity": _pair(data["purity"]),
            "used": tuple(_use(use) for use in data["used"]),
        }
    )


def _use(data: Mapping[str, Any]) -> FrozenUse:
    return FrozenUse(
        **{
            **data,
            "quantity": Decimal(data["quantity"]),
            "unit_cost": Decimal(data["unit_cost"]),
            "sap": _sap(data["sap"]),
            "purity": _pair(data["purity"]),
        }
    )


def _sap(data: Mapping[str, Any] | None) -> Sap | None:
    return Sap(**data) if data else None


def _pair(data: list[float] | None) -> tuple[float, float] | None:
    return (data[0], data[1]) if data else None


def _decimal(data: str | None) -> Decimal | None:
    return Decimal(data) if data else None


def _three(data: list[str] | None) -> tuple[Decimal, Decimal, Decimal] | None:
    return (Decimal(data[0]), Decimal(data[1]), Decimal(data[2])) if data else None
