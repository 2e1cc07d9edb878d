"""Where embeds go along a loaf so that every cut misses them, and the strip that shows it on paper.

Lengths are mm, measured from the left end of the loaf. Pure geometry, nothing is rounded.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from shared.cuts import KERF_WORDS, MOST_BARS, WIDEST_KERF_MM, Span
from shared.moulds import LARGEST_MM
from shared.words import Phrase

MOST_EMBEDS: Final = 100
"""In one bar."""
CHECK_LINE_MM: Final = 100.0
"""Drawn on every page: measured with a ruler it tells whether the printer kept to the scale."""
USUAL_OVERLAP_MM: Final = 10.0
_DUST: Final = 1e-9


class PlacingError(ValueError):
    """What cannot be placed or printed; ``field`` says which figure.

    It is "cuts", "kerf", "embed", "number", "distance", "length", "paper" or "overlap".
    """

    def __init__(self, field: str, message: Phrase) -> None:
        super().__init__(message)
        self.field = field


# Placing


@dataclass(frozen=True, slots=True)
class Placing:
    """Embeds along the loaf, by bar, each tuple from left to right.

    ``nearest_mm`` is from the embed nearest to a cut up to that cut, below zero where the cut goes through
    it. ``warnings`` is empty where all embeds fit with the distances wanted.
    """

    embeds: tuple[tuple[Span, ...], ...]
    nearest_mm: float
    warnings: tuple[Phrase, ...]

    @property
    def centres(self) -> tuple[float, ...]:
        """Of all embeds, in mm from the left end of the loaf."""
        return tuple(embed.centre for bar in self.embeds for embed in bar)

    @property
    def whole(self) -> bool:
        """Whether every cut misses every embed."""
        return self.nearest_mm >= -_DUST


def bars_between(cuts_mm: Sequence[float], kerf_mm: float = 0.0) -> tuple[Span, ...]:
    """The bars between cuts in the middle of which the saw or wire runs, taking ``kerf_mm``.

    A face of the loaf that is not trimmed counts as a cut half a kerf outside of it. Raises PlacingError for
    fewer than two cuts, and for cuts that do not follow each other from left to right with some soap between.
    """
    if not 0 <= kerf_mm <= WIDEST_KERF_MM:
        raise PlacingError("kerf", KERF_WORDS)
    bars = tuple(Span(left + kerf_mm / 2, right - kerf_mm / 2) for left, right in pairwise(cuts_mm))
    _check_bars(bars)
    return bars


def place(bars: Sequence[Span], *, embed_mm: float, number: int, distance_mm: float) -> Placing:
    """Put so many embeds into each bar, each in the middle of its even share of the bar.

    ``bars`` are those of `shared.cuts.LoafPlan` or `bars_between`; ``embed_mm`` is what one embed takes
    along the loaf, ``distance_mm`` the least from an embed to a cut. With three to a bar, bars of equal
    thickness carry all three whole (common practice, no source). Raises PlacingError for figures that cannot
    be; what merely does not fit is warned of.
    """
    _check_bars(bars)
    if not 0 < embed_mm <= LARGEST_MM:
        raise PlacingError("embed", Phrase("An embed must be wider than nothing and at most 2 m."))
    if not 1 <= number <= MOST_EMBEDS:
        words = Phrase("The number of embeds in a bar must lie between 1 and %(most)s.", most=MOST_EMBEDS)
        raise PlacingError("number", words)
    if not 0 <= distance_mm <= LARGEST_MM:
        raise PlacingError("distance", Phrase("The distance to a cut must lie between 0 mm and 2 m."))
    thinnest = min(bar.width for bar in bars)
    return Placing(
        embeds=tuple(tuple(_shared_out(bar, embed_mm, number)) for bar in bars),
        nearest_mm=(thinnest / number - embed_mm) / 2,
        warnings=tuple(_warnings(thinnest, embed_mm, number, distance_mm)),
    )


def _shared_out(bar: Span, embed_mm: float, number: int) -> Iterator[Span]:
    for index in range(number):
        centre = bar.start + bar.width * (2 * index + 1) / (2 * number)
        yield Span(centre - embed_mm / 2, centre + embed_mm / 2)


def _warnings(thinnest: float, embed_mm: float, number: int, distance_mm: float) -> Iterator[Phrase]:
    share = thinnest / number
    needed = embed_mm + 2 * distance_mm
    figures: dict[str, object] = {
        "embed": f"{embed_mm:.1f}",
        "distance": f"{distance_mm:.1f}",
        "needed": f"{needed:.1f}",
        "bar": f"{thinnest:.1f}",
        "share": f"{share:.1f}",
        "number": number,
    }
    if needed > thinnest + _DUST:
        yield Phrase(
            "An embed of %(embed)s mm with %(distance)s mm to each cut needs %(needed)s mm, "
            "but the thinnest bar has only %(bar)s mm.",
            **figures,
        )
    elif needed > share + _DUST:
        yield Phrase(
            "An embed of %(embed)s mm with %(distance)s mm on each side needs %(needed)s mm, "
            "but with %(number)s in a bar of %(bar)s mm there are only %(share)s mm for each.",
            **figures,
        )
    if embed_mm > share + _DUST:
        yield Phrase("Placed like this, cuts go through embeds.")


def _check_bars(bars: Sequence[Span]) -> None:
    if not 1 <= len(bars) <= MOST_BARS:
        words = Phrase("There must be between 1 and %(most)s bars to place embeds in.", most=MOST_BARS)
        raise PlacingError("cuts", words)
    if not all(-_DUST <= bar.start < bar.end <= LARGEST_MM + _DUST for bar in bars):
        words = Phrase("Every bar must lie between the left end of the loaf and 2 m, and have a thickness.")
        raise PlacingError("cuts", words)
    if any(right.start < left.end - _DUST for left, right in pairwise(bars)):
        raise PlacingError("cuts", Phrase("The cuts must follow each other from left to right."))


# The strip on paper


@dataclass(frozen=True, slots=True)
class Page:
    """The part of the strip that one page shows.

    ``marks`` are places along the strip that the page shares with its neighbours: put mark on mark to join.
    """

    part: Span
    marks: tuple[float, ...]

    def on_paper(self, place_mm: float) -> float:
        """Where a place along the strip is drawn, in mm from the left edge of what can be printed."""
        return place_mm - self.part.start


@dataclass(frozen=True, slots=True)
class Tiling:
    """A strip over pages from left to right, and where each page has its check line of 100 mm.

    ``check_line`` is measured on the paper, from the left edge of what can be printed.
    """

    pages: tuple[Page, ...]
    overlap_mm: float
    check_line: Span


def tile(length_mm: float, paper_mm: float, overlap_mm: float = USUAL_OVERLAP_MM) -> Tiling:
    """Spread a strip evenly over as few pages as carry it, neighbours overlapping by ``overlap_mm``.

    ``paper_mm`` is the width that can be printed on. Raises PlacingError for a strip that is not longer
    than nothing or longer than 2 m, for paper too narrow for the check line, and for an overlap of more than
    half the paper.
    """
    if not 0 < length_mm <= LARGEST_MM:
        raise PlacingError("length", Phrase("The strip must be longer than nothing and at most 2 m."))
    if not CHECK_LINE_MM <= paper_mm <= LARGEST_MM:
        words = Phrase(
            "The width to print on must lie between %(line)s mm, for the check line, and 2 m.",
            line=f"{CHECK_LINE_MM:g}",
        )
        raise PlacingError("paper", words)
    if not 0 <= overlap_mm <= paper_mm / 2:
        raise PlacingError("overlap", Phrase("The overlap must lie between 0 mm and half the paper."))
    number = max(1, math.ceil((length_mm - overlap_mm) / (paper_mm - overlap_mm) - _DUST))
    step = (length_mm - overlap_mm) / number
    later = [step * index for index in range(1, number)]
    parts = zip([0.0, *later], [*(start + overlap_mm for start in later), length_mm], strict=True)
    joins = [start + overlap_mm / 2 for start in later]
    pages = tuple(
        Page(Span(*part), tuple(joins[max(index - 1, 0) : index + 1])) for index, part in enumerate(parts)
    )
    margin = (paper_mm - CHECK_LINE_MM) / 2
    return Tiling(pages, overlap_mm, Span(margin, margin + CHECK_LINE_MM))
