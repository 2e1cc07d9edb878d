"""What a bar of a design will look like, cut across."""

from __future__ import annotations

from inventory.models import Kind
from recipes.design import Mould
from recipes.formulation import WorkedOut
from recipes.models import NATURAL, Shape
from shared.bar_picture import BarPicture
from shared.cross_section import Embed, Layer, Topping

UNCOLOURED = "#8a8176"  # of an embed or a topping of which nobody has said how it looks


def picture_of(worked_out: WorkedOut, *, bar_colour: str) -> BarPicture:
    """The cut face in the colours that the portions are meant to have."""
    mould = worked_out.design.mould
    return BarPicture(
        layers=_layers(worked_out, bar_colour or NATURAL),
        embeds=tuple(
            Embed(part.material.colour or UNCOLOURED, int(part.amount), part.material.name)
            for part in worked_out.design.of(Kind.EMBED)
        ),
        toppings=tuple(
            Topping(part.material.colour or UNCOLOURED, part.material.name)
            for part in worked_out.design.of(Kind.TOPPING)
        ),
        width=_width(mould) if mould else None,
        height=_height(worked_out, mould) if mould else None,
    )


def _layers(worked_out: WorkedOut, natural: str) -> tuple[Layer, ...]:
    if worked_out.split is None:
        return (Layer(natural, 1.0),)
    return tuple(
        Layer(jug.design.looks(natural), float(jug.grams), jug.design.name, jug.design.technique)
        for jug in worked_out.split.jugs
        if jug.in_mould
    ) or (Layer(natural, 1.0),)


def _width(mould: Mould) -> float | None:
    """Across the cut face in mm; None where the bars are not cut."""
    kept = mould.kept
    if kept is None:
        return float(mould.width or 0)
    if kept.shape == Shape.TUBE and kept.diameter:
        return float(kept.diameter - 2 * kept.liner)
    return float(kept.width - 2 * kept.liner) if kept.width else None


def _height(worked_out: WorkedOut, mould: Mould) -> float:
    """As high as it is meant to be filled, or as the batter will stand in one mould."""
    return float(mould.height) if mould.height is not None else round(worked_out.stands_mm or 0, 1)
