"""How what comes out of a mould is cut: a mould put into words of the calculations. Nothing is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from recipes.models import Mould, Shape
from shared.cut_drawing import Drawing, draw_loaf, draw_slab
from shared.cuts import (
    Block,
    Cavities,
    block_of_density,
    loaf_by_number,
    loaf_by_thickness,
    slab_plan,
)
from shared.density import Learned

CUT_SHAPES: Final = (Shape.LOAF, Shape.SLAB, Shape.TUBE)
"""What comes out of these in one piece and is cut by measure."""


@dataclass(frozen=True, slots=True)
class Cut:
    """What a filled mould gives: so many bars, their weights fresh and cured, and all that is no bar, fresh.

    Weights are grams. `sides` are those of a bar in mm, the one that the cut makes first; empty for cavities
    and for shapes that are only known by their water. `drawing` is the cut from above.
    """

    number: int
    bar_grams: float
    cured_grams: float
    trimmings_grams: float
    sides: tuple[float, ...] = ()
    drawing: Drawing | None = None


@dataclass(frozen=True, slots=True)
class Filling:
    """A mould filled so many mm high: what that is in mL, and in grams of batter, give or take `stray`."""

    height: float
    millilitres: float
    grams: float
    stray: float


def filling_of(mould: Mould, height: float, density: Learned) -> Filling:
    """What stands so many mm high in a mould weighs, by a learned density."""
    millilitres = mould.vessel.volume_at(height)
    return Filling(height, millilitres, millilitres * density.mean, millilitres * density.spread)


def number_of_bars(mould: Mould) -> int:
    """How many bars a filling of a mould usually gives."""
    if mould.shape == Shape.CAVITIES:
        return mould.cavities or 0
    return mould.bars * mould.rows if mould.shape == Shape.SLAB else mould.bars


def cut_of(mould: Mould, *, height: float, density: float, loss: float = 0.0) -> Cut:
    """The usual cut of what stands so many mm high in a mould.

    `density` is g/mL of fresh soap, `loss` what a bar loses in the cure, in % of its fresh weight. Raises
    CutError and MouldError.
    """
    if mould.shape == Shape.SLAB:
        return _slab(mould, height, density, loss)
    if mould.shape in CUT_SHAPES:
        return _loaf(mould, height, density, loss)
    number = number_of_bars(mould)
    each = Cavities(number, mould.vessel.volume_at(height) / number, density, loss)
    return Cut(number, each.bar_grams, each.cured_grams, 0.0)


def bars_of_thickness(mould: Mould, thickness: float) -> int:
    """How many bars of this thickness in mm a full mould gives, along its length or, of a tube, its height.

    Raises CutError and MouldError.
    """
    loaf = _block(mould, mould.vessel.depth_mm, density=1.0)
    plan = loaf_by_thickness(loaf, thickness, trim_mm=float(mould.trim), kerf_mm=float(mould.kerf))
    return len(plan.bars)


def _loaf(mould: Mould, height: float, density: float, loss: float) -> Cut:
    block = _block(mould, height, density)
    trim, kerf = float(mould.trim), float(mould.kerf)
    plan = loaf_by_number(block, mould.bars, trim_mm=trim, kerf_mm=kerf, loss=loss)
    return Cut(
        number=mould.bars,
        bar_grams=plan.bar_grams,
        cured_grams=plan.cured_grams,
        trimmings_grams=plan.ends_grams + plan.kerfs_grams,
        sides=(plan.thickness_mm, block.width_mm, block.height_mm),
        drawing=draw_loaf(plan, block.width_mm),
    )


def _slab(mould: Mould, height: float, density: float, loss: float) -> Cut:
    block = _block(mould, height, density)
    trim, kerf = float(mould.trim), float(mould.kerf)
    plan = slab_plan(block, columns=mould.bars, rows=mould.rows, trim_mm=trim, kerf_mm=kerf, loss=loss)
    return Cut(
        number=plan.number,
        bar_grams=plan.bar_grams,
        cured_grams=plan.cured_grams,
        trimmings_grams=plan.trimmings_grams,
        sides=(plan.bar_length_mm, plan.bar_width_mm, block.height_mm),
        drawing=draw_slab(plan),
    )


def _block(mould: Mould, height: float, density: float) -> Block:
    """What stands so high in a mould, within its liner; a tube lies on its side to be cut."""
    vessel, liner = mould.vessel, 2 * float(mould.liner)
    if mould.shape == Shape.TUBE:
        across = float(mould.diameter or 0) - liner
        return Block(height, across, across, vessel.volume_at(height) * density)
    return block_of_density(
        float(mould.length or 0) - liner, float(mould.width or 0) - liner, height, density
    )
