"""The copy of a recipe that a batch keeps: what was shown when it was planned, and what was really used.

Stored as JSON in `Batch.frozen`; nothing in it follows later edits of recipe, material, lot or settings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from decimal import Decimal
from typing import Any

from batches.frozen_split import FrozenSplit
from batches.models import Line
from inventory.models import Certificate, Kind, Lot, Material
from inventory.queries.made import shares
from recipes.formulation import Design, Mould, WorkedOut
from recipes.models import NATURAL, Process, Stage, Version
from recipes.scent import cured_share
from shared.saponification import Limits, SafetyRange, Sap
from shared.scaling import Scale
from soapshop.core.models import Workshop

HUNDREDTH = Decimal("0.01")


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
    of it is its acid. `dissolved` is said of a ready-made lye solution. `made_of` tells what is in batter
    that an earlier batch kept back.
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
    made_of: tuple[FrozenLine, ...] = ()

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
    """Weights in grams; superfat, limits and safety figures in per cent.

    `split` says how the batter is split, where it is; `cured_share` is what the cure leaves of a gram of it,
    None in batches of before that was kept; `certified` by material id what was certified of each
    fragrance.
    """

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
    mould_name: str = ""
    split: FrozenSplit | None = None
    cured_share: float | None = None
    certified: Mapping[str, Any] = field(default_factory=dict)

    @property
    def limits(self) -> Limits:
        return Limits(float(self.watch_from) / 100, float(self.stop_from) / 100)

    @property
    def ingredients(self) -> tuple[FrozenLine, ...]:
        """Its lines, and in place of batter that an earlier batch kept back all that is in that."""
        return tuple(one for line in self.lines for one in line.made_of or (line,))

    @property
    def scale(self) -> Scale:
        """What it is weighed on. Batches of before there was a finer one know of none."""
        return Scale(self.scale_step, self.fine_scale_step, self.fine_scale_up_to or Decimal(0))

    def line_for(self, line: Line) -> FrozenLine:
        """The frozen copy of a line of the card; for one added at the bench, the material as it is now."""
        planned = (known for known in self.lines if known.material == line.material_id)
        return next(planned, None) or FrozenLine.of(line.material, line.planned, None, line.stage)

    def as_poured(
        self, lines: Iterable[Line], safety: SafetyRange, certificates: Mapping[int, Certificate]
    ) -> FrozenRecipe:
        """The recipe with the lots really used, the safety range of what is in the pot, and what was
        certified of its fragrances on the day, by material id.

        `lines` with their weighings and the weighings' lots, deliveries and suppliers fetched.
        """
        poured = tuple(
            replace(self.line_for(line), used=_uses(line), made_of=_made_of(line)) for line in lines
        )
        certified = _certified(certificates) or self.certified
        return replace(self, lines=poured, safety=asdict(safety), certified=certified)

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
                "split": FrozenSplit.from_json(data["split"]) if data.get("split") else None,
            }
        )


def freeze(
    *,
    version: Version,
    design: Design,
    worked_out: WorkedOut,
    lots: Mapping[int, Lot],
    certificates: Mapping[int, Certificate],
    workshop: Workshop,
) -> FrozenRecipe:
    """Copies all that was shown of a version worked out to a size.

    `lots` to take from and `certificates` of the fragrances are by material id.
    """
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
        mould_name=str((design.mould and design.mould.kept) or ""),
        split=FrozenSplit.of(worked_out.split) if worked_out.split else None,
        cured_share=cured_share(worked_out),
        certified=_certified(certificates),
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


def _certified(certificates: Mapping[int, Certificate]) -> dict[str, Any]:
    return {str(pk): asdict(one.certified) for pk, one in certificates.items()}


def _made_of(line: Line) -> tuple[FrozenLine, ...]:
    """What is in the batter kept back that went in."""
    if line.kind != Kind.BATTER:
        return ()
    taken = ((weighing.lot, weighing.quantity) for weighing in line.weighings.all())
    return tuple(FrozenLine.of(lot.material, grams.quantize(HUNDREDTH), lot) for lot, grams in shares(taken))


def _dimensions(mould: Mould | None) -> tuple[Decimal, Decimal, Decimal] | None:
    if mould is None or mould.length is None or mould.width is None or mould.height is None:
        return None
    return (mould.length, mould.width, mould.height)


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
            "made_of": tuple(_line(one) for one in data.get("made_of", ())),
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
