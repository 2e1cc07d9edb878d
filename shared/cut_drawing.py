"""How a cut looks from above, to scale: where the lines of a drawing go. Widths are those of the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shared.cuts import LoafPlan, SlabPlan, Span

WIDEST, TALLEST = 320.0, 240.0


@dataclass(frozen=True, slots=True)
class Rectangle:
    """By its upper left corner."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Drawing:
    """The soap from above, its length from left to right: what becomes bars, and what the cuts take."""

    width: float
    height: float
    bars: Rectangle
    cuts: tuple[Rectangle, ...]


def draw_loaf(plan: LoafPlan, width_mm: float) -> Drawing:
    """A loaf so many mm wide, with its cuts across; what is trimmed off or left over lies beside the bars."""
    scale = _scale(plan.loaf.length_mm, width_mm)
    height = width_mm * scale
    return Drawing(
        width=plan.loaf.length_mm * scale,
        height=height,
        bars=_across(_all(plan.bars), scale, height),
        cuts=tuple(_across(cut, scale, height) for cut in plan.cuts),
    )


def draw_slab(plan: SlabPlan) -> Drawing:
    """A slab with its cuts both ways; what is trimmed off its edges lies around the bars."""
    slab = plan.slab
    scale = _scale(slab.length_mm, slab.width_mm)
    width, height = slab.length_mm * scale, slab.width_mm * scale
    across, along = _all(plan.columns), _all(plan.rows)
    bars = Rectangle(across.start * scale, along.start * scale, across.width * scale, along.width * scale)
    cuts = (
        *(_across(cut, scale, height) for cut in plan.column_cuts),
        *(Rectangle(0.0, cut.start * scale, width, cut.width * scale) for cut in plan.row_cuts),
    )
    return Drawing(width, height, bars, cuts)


def _scale(length_mm: float, width_mm: float) -> float:
    return min(WIDEST / length_mm, TALLEST / width_mm)


def _all(pieces: Sequence[Span]) -> Span:
    """From the first piece to the last."""
    return Span(pieces[0].start, pieces[-1].end)


def _across(span: Span, scale: float, height: float) -> Rectangle:
    return Rectangle(span.start * scale, 0.0, span.width * scale, height)
