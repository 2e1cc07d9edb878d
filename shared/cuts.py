"""How a block of soap is cut into bars, and what they weigh.

Lengths are mm, measured from the left end, weights grams, density g/mL, loss % of the fresh weight. Nothing
is rounded.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, NamedTuple

from shared.ingredients import MAX_GRAMS
from shared.moulds import LARGEST_MM, SMALLEST_MM, MouldError, box_volume_ml
from shared.words import Phrase

MOST_BARS: Final = 2000
LIGHTEST, HEAVIEST = 0.1, 3.0
"""g/mL; beyond these the figure was meant in another unit. Common practice, no source."""
MAX_VOLUME_ML: Final = 100_000.0
WIDEST_KERF_MM: Final = 20.0
KERF_WORDS: Final = Phrase("What a cut takes must lie between 0 and %(most)s mm.", most=f"{WIDEST_KERF_MM:g}")
_DUST: Final = 9
"""Decimal places that count when bars are counted; beyond them is the dust of binary fractions."""

_NUMBERS: Final = {
    "bars": Phrase("The number of bars must lie between 1 and %(most)s.", most=MOST_BARS),
    "rows": Phrase("The number of rows must lie between 1 and %(most)s.", most=MOST_BARS),
    "columns": Phrase("The number of columns must lie between 1 and %(most)s.", most=MOST_BARS),
    "cavities": Phrase("The number of cavities must lie between 1 and %(most)s.", most=MOST_BARS),
}


class CutError(ValueError):
    """A block or a cut that cannot be; ``field`` says which figure.

    It is "length", "width", "height", "grams", "density", "thickness", "bars", "trim", "kerf", "loss",
    "rows", "columns", "cavities" or "volume".
    """

    def __init__(self, field: str, message: Phrase) -> None:
        super().__init__(message)
        self.field = field


class Span(NamedTuple):
    """From where to where along a side, in mm from its left end."""

    start: float
    end: float

    @property
    def width(self) -> float:
        return self.end - self.start

    @property
    def centre(self) -> float:
        return (self.start + self.end) / 2


@dataclass(frozen=True, slots=True)
class Block:
    """Soap out of a loaf or slab mould: inner length and width, height of the soap, what all of it weighs.

    Raises CutError for sides outside 1 mm to 2 m and for weights that are not above nothing and at most a
    tonne.
    """

    length_mm: float
    width_mm: float
    height_mm: float
    grams: float

    def __post_init__(self) -> None:
        _volume_ml(self.length_mm, self.width_mm, self.height_mm)
        if not 0 < self.grams <= MAX_GRAMS:
            raise CutError("grams", Phrase("The soap must weigh more than nothing and at most 1 tonne."))


def block_of_density(length_mm: float, width_mm: float, height_mm: float, density: float) -> Block:
    """A block of fresh soap that was not weighed, of a density in g/mL. Raises CutError."""
    _check_density(density)
    grams = _volume_ml(length_mm, width_mm, height_mm) * density
    return Block(length_mm, width_mm, height_mm, grams)


def _volume_ml(length_mm: float, width_mm: float, height_mm: float) -> float:
    try:
        return box_volume_ml(length_mm, width_mm, height_mm)
    except MouldError as error:
        raise CutError(error.field, error.args[0]) from error


def _check_density(density: float) -> None:
    if not LIGHTEST <= density <= HEAVIEST:
        words = Phrase(
            "The density must lie between %(least)s and %(most)s g/mL.", least=LIGHTEST, most=HEAVIEST
        )
        raise CutError("density", words)


# A loaf


@dataclass(frozen=True, slots=True)
class LoafPlan:
    """A loaf cut across into bars, from the left end to the right.

    ``cuts`` is what the saw or wire takes, as spans without width for a wire. ``end_mm`` is what is trimmed
    off each end; ``leftover_mm`` is what is too short for one more bar, at the right end, in one piece with
    what is trimmed off there.
    """

    loaf: Block
    bars: tuple[Span, ...]
    cuts: tuple[Span, ...]
    thickness_mm: float
    end_mm: float
    leftover_mm: float
    loss: float

    @property
    def kerfs_mm(self) -> float:
        """What all cuts take together."""
        return math.fsum(cut.width for cut in self.cuts)

    @property
    def bar_grams(self) -> float:
        """Of one fresh bar."""
        return self._grams(self.thickness_mm)

    @property
    def cured_grams(self) -> float:
        """Of one bar after the cure."""
        return _cured(self.bar_grams, self.loss)

    @property
    def ends_grams(self) -> float:
        """Of both ends, fresh."""
        return self._grams(2 * self.end_mm)

    @property
    def kerfs_grams(self) -> float:
        """Of what all cuts take together, fresh."""
        return self._grams(self.kerfs_mm)

    @property
    def leftover_grams(self) -> float:
        """Of what is left over, fresh."""
        return self._grams(self.leftover_mm)

    def _grams(self, length_mm: float) -> float:
        return self.loaf.grams * length_mm / self.loaf.length_mm


def loaf_by_thickness(
    loaf: Block, thickness_mm: float, *, trim_mm: float = 0.0, kerf_mm: float = 0.0, loss: float = 0.0
) -> LoafPlan:
    """As many bars of this thickness in mm as the loaf gives; what is left over stays in one piece.

    For bars without anything left over, ask `loaf_by_number` for as many. ``trim_mm`` comes off each end,
    ``kerf_mm`` is what one cut takes (a wire: next to nothing), ``loss`` is what a bar loses while it cures,
    in % of its fresh weight. Raises CutError.
    """
    _check_loss(loss)
    room = _room(loaf.length_mm, trim_mm, kerf_mm)
    if not SMALLEST_MM <= thickness_mm <= LARGEST_MM:
        raise CutError("thickness", Phrase("The thickness must lie between 1 mm and 2 m."))
    number = math.floor(round((room.width + kerf_mm) / (thickness_mm + kerf_mm), _DUST))
    if not number:
        words = Phrase(
            "Between its ends the loaf is only %(room)s mm long, too short for one bar of %(thickness)s mm.",
            room=f"{room.width:.1f}",
            thickness=f"{thickness_mm:.1f}",
        )
        raise CutError("thickness", words)
    thickness = min(thickness_mm, _even(room, number, kerf_mm))
    return _plan(loaf, room, _pieces(room.start, thickness, number, kerf_mm), trim_mm, kerf_mm, loss)


def loaf_by_number(
    loaf: Block, number: int, *, trim_mm: float = 0.0, kerf_mm: float = 0.0, loss: float = 0.0
) -> LoafPlan:
    """So many bars, as thick as the loaf makes them, with nothing left over.

    The other arguments are those of `loaf_by_thickness`. Raises CutError.
    """
    _check_loss(loss)
    bars = _share_out("bars", loaf.length_mm, number, trim_mm, kerf_mm)
    room = _room(loaf.length_mm, trim_mm, kerf_mm)
    return _plan(loaf, room, bars, trim_mm, kerf_mm, loss)


def _plan(
    loaf: Block, room: Span, bars: tuple[Span, ...], trim_mm: float, kerf_mm: float, loss: float
) -> LoafPlan:
    cuts = _cuts(bars, trim_mm, kerf_mm)
    leftover = max(0.0, round(room.end - bars[-1].end, _DUST))
    if leftover and not trim_mm:
        last_cut = min(kerf_mm, leftover)
        cuts = (*cuts, Span(bars[-1].end, bars[-1].end + last_cut))
        leftover -= last_cut
    return LoafPlan(loaf, bars, cuts, bars[0].width, trim_mm, leftover, loss)


# A slab


@dataclass(frozen=True, slots=True)
class SlabPlan:
    """A slab cut into columns along its length and rows along its width, each bar as high as the slab."""

    slab: Block
    columns: tuple[Span, ...]
    rows: tuple[Span, ...]
    column_cuts: tuple[Span, ...]
    row_cuts: tuple[Span, ...]
    loss: float

    @property
    def number(self) -> int:
        """Of bars."""
        return len(self.columns) * len(self.rows)

    @property
    def bar_length_mm(self) -> float:
        """Of one bar, along the length of the slab."""
        return self.columns[0].width

    @property
    def bar_width_mm(self) -> float:
        """Of one bar, along the width of the slab."""
        return self.rows[0].width

    @property
    def bar_grams(self) -> float:
        """Of one fresh bar."""
        share = self.bar_length_mm * self.bar_width_mm / (self.slab.length_mm * self.slab.width_mm)
        return self.slab.grams * share

    @property
    def cured_grams(self) -> float:
        """Of one bar after the cure."""
        return _cured(self.bar_grams, self.loss)

    @property
    def trimmings_grams(self) -> float:
        """Of all that is not bars, fresh: the edges and what the cuts take."""
        return max(self.slab.grams - self.number * self.bar_grams, 0.0)


def slab_plan(
    slab: Block,
    *,
    columns: int,
    rows: int,
    trim_mm: float = 0.0,
    kerf_mm: float = 0.0,
    loss: float = 0.0,
) -> SlabPlan:
    """Even bars out of a slab; ``trim_mm`` comes off all four edges. Units as for a loaf. Raises CutError."""
    _check_loss(loss)
    across = _share_out("columns", slab.length_mm, columns, trim_mm, kerf_mm)
    along = _share_out("rows", slab.width_mm, rows, trim_mm, kerf_mm)
    return SlabPlan(
        slab=slab,
        columns=across,
        rows=along,
        column_cuts=_cuts(across, trim_mm, kerf_mm),
        row_cuts=_cuts(along, trim_mm, kerf_mm),
        loss=loss,
    )


# Cavities


@dataclass(frozen=True, slots=True)
class Cavities:
    """A mould of single cavities filled to the brim: volume of each in mL, density of fresh soap in g/mL.

    Raises CutError for figures that make no sense.
    """

    number: int
    volume_ml: float
    density: float
    loss: float = 0.0

    def __post_init__(self) -> None:
        _check_number("cavities", self.number)
        if not 0 < self.volume_ml <= MAX_VOLUME_ML:
            raise CutError("volume", Phrase("A cavity must hold more than nothing and at most 100 litres."))
        _check_density(self.density)
        _check_loss(self.loss)

    @property
    def bar_grams(self) -> float:
        """Of one fresh bar."""
        return self.volume_ml * self.density

    @property
    def cured_grams(self) -> float:
        """Of one bar after the cure."""
        return _cured(self.bar_grams, self.loss)

    @property
    def grams(self) -> float:
        """Of all fresh bars."""
        return self.number * self.bar_grams


# Dividing a side


def _share_out(field: str, side_mm: float, number: int, trim_mm: float, kerf_mm: float) -> tuple[Span, ...]:
    """So many even pieces of one side between its ends."""
    _check_number(field, number)
    room = _room(side_mm, trim_mm, kerf_mm)
    width = _even(room, number, kerf_mm)
    if width < SMALLEST_MM:
        words = Phrase("Cut into %(number)s, each piece would be thinner than 1 mm.", number=number)
        raise CutError(field, words)
    return _pieces(room.start, width, number, kerf_mm)


def _room(side_mm: float, trim_mm: float, kerf_mm: float) -> Span:
    """Where the pieces lie; without trimming there is no cut at the ends."""
    if not 0 <= trim_mm <= LARGEST_MM:
        raise CutError("trim", Phrase("What is trimmed off an end must lie between 0 mm and 2 m."))
    if not 0 <= kerf_mm <= WIDEST_KERF_MM:
        raise CutError("kerf", KERF_WORDS)
    end = trim_mm + kerf_mm if trim_mm else 0.0
    if 2 * end >= side_mm:
        words = Phrase("Trimming both ends leaves nothing of %(side)s mm.", side=f"{side_mm:.1f}")
        raise CutError("trim", words)
    return Span(end, side_mm - end)


def _even(room: Span, number: int, kerf_mm: float) -> float:
    return (room.width - (number - 1) * kerf_mm) / number


def _pieces(start: float, width: float, number: int, kerf_mm: float) -> tuple[Span, ...]:
    lefts = (start + index * (width + kerf_mm) for index in range(number))
    return tuple(Span(left, left + width) for left in lefts)


def _cuts(pieces: tuple[Span, ...], trim_mm: float, kerf_mm: float) -> tuple[Span, ...]:
    between = tuple(Span(left.end, right.start) for left, right in pairwise(pieces))
    if not trim_mm:
        return between
    first, last = pieces[0].start, pieces[-1].end
    return (Span(first - kerf_mm, first), *between, Span(last, last + kerf_mm))


def _check_number(field: str, number: int) -> None:
    if not 1 <= number <= MOST_BARS:
        raise CutError(field, _NUMBERS[field])


def _check_loss(loss: float) -> None:
    if not 0 <= loss < 100:
        raise CutError("loss", Phrase("The loss of weight must lie between 0 and 100 %."))


def _cured(grams: float, loss: float) -> float:
    return grams * (1 - loss / 100)
