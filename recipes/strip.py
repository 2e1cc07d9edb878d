"""The strip that is laid along a loaf to place embeds: what it shows, drawn on a page or at its true size.

It writes nothing. Lengths are mm from the left end of the loaf.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from string import ascii_uppercase
from typing import Final

from django.utils.translation import gettext, ngettext

from recipes.explain import Entry, Explanation
from recipes.models import Shape, Version
from shared.cuts import MOST_BARS, Block, LoafPlan, Span, loaf_by_number, loaf_by_thickness
from shared.moulds import SMALLEST_MM
from shared.placing import Placing, PlacingError, Tiling, place, tile
from shared.words import Phrase
from soapshop.core.templatetags.soapshop import TIE, number, trimmed
from soapshop.core.words import in_words

USUAL_DISTANCE: Final = Decimal(3)
"""mm from an embed to a cut: common practice, no source."""
MOST_DRAWN: Final = 1000
"""Embeds on one strip; more would not be told apart."""
ROOM_FOR_A_NAME: Final = 20.0
"""mm of a piece that a sheet shows, from which on it is named there."""
ROOM_ON_PAGE: Final = 7.0
"""% of the drawing on a page that the name of a bar takes, two figures wide, on a phone of 360 px."""
ROOM_ON_PAPER: Final = 4.0
"""mm that the name of a bar takes at the least to be read."""
ROOM_OF_EMBED: Final = 3.0
"""mm of a bar for each embed, from which on the embeds have names that can be read."""

# Inner width in mm of a sheet that lies on its side: 297 mm (ISO 216, A4) and 11 in (ANSI/ASME Y14.1, size A)
# less the 12 mm at each side that print.css leaves free.
PRINTED_WIDTH: Final = {"a4": 297 - 24.0, "letter": 279.4 - 24.0}


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of a strip. A `thickness` goes before the number of `bars`; `number` 0 is no embeds."""

    length: float
    bars: int
    thickness: float | None
    trim: float
    kerf: float
    number: int
    embed: float
    distance: float


@dataclass(frozen=True, slots=True)
class Strip:
    """A loaf with its cuts, and the embeds in it if it has any."""

    wanted: Wanted
    plan: LoafPlan
    placing: Placing | None

    @property
    def length(self) -> float:
        return self.plan.loaf.length_mm

    @property
    def ends(self) -> tuple[Span, ...]:
        """What is no bar and no cut, at the left and at the right end; with a part without width for none."""
        pieces = sorted([*self.plan.bars, *self.plan.cuts])
        return Span(0, pieces[0].start), Span(pieces[-1].end, self.length)

    @property
    def room_of_embed(self) -> float:
        """What of a bar there is for each embed."""
        return self.plan.thickness_mm / max(self.wanted.number, 1)

    @property
    def warnings(self) -> tuple[str, ...]:
        return tuple(map(in_words, self.placing.warnings)) if self.placing else ()

    @property
    def embeds(self) -> Iterator[tuple[str, Span]]:
        """Each by its name: that of its bar, and its place in the bar where there are several."""
        for bar, row in enumerate(self.placing.embeds if self.placing else (), 1):
            for index, embed in enumerate(row, 1):
                yield (f"{bar}.{index}" if len(row) > 1 else f"{bar}"), embed


def lay_out(wanted: Wanted) -> Strip:
    """Cut a loaf and place the embeds. Raises CutError and PlacingError for what cannot be."""
    # Only what lies along the loaf counts here.
    loaf = Block(wanted.length, SMALLEST_MM, SMALLEST_MM, 1)
    if wanted.thickness is None:
        plan = loaf_by_number(loaf, wanted.bars, trim_mm=wanted.trim, kerf_mm=wanted.kerf)
    else:
        plan = loaf_by_thickness(loaf, wanted.thickness, trim_mm=wanted.trim, kerf_mm=wanted.kerf)
    if not wanted.number:
        return Strip(wanted, plan, None)
    if len(plan.bars) * wanted.number > MOST_DRAWN:
        words = Phrase("That makes more than %(most)s embeds, too many for one strip.", most=MOST_DRAWN)
        raise PlacingError("number", words)
    placing = place(plan.bars, embed_mm=wanted.embed, number=wanted.number, distance_mm=wanted.distance)
    return Strip(wanted, plan, placing)


def usual(version: Version, paper: str) -> dict[str, str]:
    """What the form begins with; without a length where the version does not tell one."""
    mould, bars = version.mould, version.bars
    length, trim, kerf = version.mould_length, Decimal(0), Decimal(0)
    if mould:
        trim, kerf, length = mould.trim, mould.kerf, None
        if mould.shape == Shape.TUBE:
            length = version.mould_height or mould.depth - mould.liner
        elif mould.length is not None and mould.shape in (Shape.LOAF, Shape.SLAB):
            length = mould.length - 2 * mould.liner
        if mould.shape == Shape.SLAB:
            bars = mould.bars
    said = {"bars": Decimal(bars), "trim": trim, "kerf": kerf, "distance": USUAL_DISTANCE}
    if length is not None:
        said["length"] = length
    return {"paper": paper} | {name: f"{figure.normalize():f}" for name, figure in said.items()}


# Drawing


@dataclass(frozen=True, slots=True)
class Piece:
    """Something on the strip, its places written as SVG wants them; without `name` where there is no room."""

    x: str
    width: str
    middle: str
    name: str = ""
    name_x: str = ""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A part of the strip. `cuts` are where the middle of the saw or wire runs."""

    ends: tuple[Piece, ...]
    bars: tuple[Piece, ...]
    cuts: tuple[Piece, ...]
    embeds: tuple[Piece, ...]


def on_page(strip: Strip) -> Drawing:
    """All of the strip, its places in % of the width; as many bars are named as a phone has room for."""
    whole, room = Span(0, strip.length), 100 * strip.plan.thickness_mm / strip.length
    every = _named_every(room, ROOM_ON_PAGE)
    return _drawing(strip, whole, whole, every, lambda mm: f"{100 * mm / strip.length:.3f}%")


def _named_every(room: float, needed: float) -> int:
    """Every which bar is named, where each has so much room for a name and needs so much."""
    return next(step for step in (1, 2, 5, 10, 20, 50, 100, 200, 500, MOST_BARS) if step * room >= needed)


@dataclass(frozen=True, slots=True)
class Mark:
    """Where two sheets are joined: mark on mark."""

    x: str
    name: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of paper: a part of the strip, its places in mm from the left edge of what is printed."""

    number: int
    width: str
    drawing: Drawing
    is_first: bool
    is_last: bool
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Print:
    """The strip on paper, and a tick for each 10 mm of the check line from its beginning to its end.

    Sizes of type are in mm: as large as the bars and the embeds leave room for.
    """

    sheets: tuple[Sheet, ...]
    width: str
    check_ticks: tuple[str, ...]
    bar_type: str
    embed_type: str
    names_embeds: bool


def on_paper(strip: Strip, paper: str) -> Print:
    """The strip at its true size, on as many sheets of "a4" or "letter" as it takes."""
    tiling, room = tile(strip.length, PRINTED_WIDTH[paper]), strip.plan.thickness_mm
    every = _named_every(room, ROOM_ON_PAPER)
    return Print(
        sheets=tuple(_sheets(strip, tiling, every)),
        width=_millimetres(PRINTED_WIDTH[paper]),
        check_ticks=tuple(_millimetres(tiling.check_line.start + 10 * index) for index in range(11)),
        bar_type=_millimetres(min(6.0, every * room / 2)),
        embed_type=_millimetres(min(3.0, strip.room_of_embed / 2.5)),
        names_embeds=strip.room_of_embed >= ROOM_OF_EMBED,
    )


def _sheets(strip: Strip, tiling: Tiling, every: int) -> Iterator[Sheet]:
    joins = sorted({mark for page in tiling.pages for mark in page.marks})
    between = pairwise([0.0, *joins, strip.length])
    for index, (page, joined) in enumerate(zip(tiling.pages, between, strict=True)):
        yield Sheet(
            number=index + 1,
            width=_millimetres(page.part.width),
            drawing=_drawing(strip, page.part, Span(*joined), every, _millimetres),
            is_first=index == 0,
            is_last=index == len(tiling.pages) - 1,
            marks=tuple(
                Mark(_millimetres(page.on_paper(mark)), ascii_uppercase[joins.index(mark)])
                for mark in page.marks
            ),
        )


def _millimetres(mm: float) -> str:
    return f"{mm:.3f}"


def _drawing(strip: Strip, part: Span, joined: Span, every: int, place_of: Callable[[float], str]) -> Drawing:
    """What of the strip lies within the part; names stand within what is left of it once it is joined.

    The first bar is named, and `every` so many.
    """

    def pieces(spans: Iterable[tuple[str, Span]]) -> tuple[Piece, ...]:
        shown = [(name, span) for name, span in spans if span.start <= part.end and span.end >= part.start]
        return tuple(_piece(span, part, joined, place_of, name) for name, span in shown)

    bars = enumerate(strip.plan.bars, 1)
    return Drawing(
        ends=pieces(("", end) for end in strip.ends if end.width > 0),
        bars=pieces((f"{bar}" if bar == 1 or bar % every == 0 else "", span) for bar, span in bars),
        cuts=pieces(("", cut) for cut in strip.plan.cuts),
        embeds=pieces(strip.embeds),
    )


def _piece(span: Span, part: Span, joined: Span, place_of: Callable[[float], str], name: str) -> Piece:
    seen = Span(max(span.start, joined.start), min(span.end, joined.end))
    has_room = seen.width >= min(span.width / 2, ROOM_FOR_A_NAME)
    return Piece(
        x=place_of(span.start - part.start),
        width=place_of(span.width),
        middle=place_of(span.centre - part.start),
        name=name if has_room else "",
        name_x=place_of(seen.centre - part.start),
    )


# In words


def length(mm: float) -> str:
    """Millimetres to a tenth: '24.5 mm'."""
    return f"{trimmed(round(mm, 1))}{TIE}mm"


def loaf_in_words(strip: Strip) -> tuple[str, ...]:
    """How the loaf is cut."""
    plan, bars = strip.plan, len(strip.plan.bars)
    words = ngettext(
        "%(bars)d bar of %(thickness)s, out of %(length)s",
        "%(bars)d bars of %(thickness)s, out of %(length)s",
        bars,
    )
    figures = {"bars": bars, "thickness": length(plan.thickness_mm), "length": length(strip.length)}
    further = (
        (plan.end_mm, gettext("%(mm)s off each end")),
        (strip.wanted.kerf, gettext("each cut takes %(mm)s")),
        (plan.leftover_mm, gettext("%(mm)s left over at the right end")),
    )
    return (words % figures, *(said % {"mm": length(mm)} for mm, said in further if mm))


def embeds_in_words(strip: Strip) -> tuple[str, ...]:
    """What goes into each bar, and how near the cuts come."""
    if strip.placing is None:
        return ()
    wanted = strip.wanted
    words = ngettext(
        "%(number)d embed in a bar, %(length)s along the loaf",
        "%(number)d embeds in a bar, %(length)s each along the loaf",
        wanted.number,
    )
    said = words % {"number": wanted.number, "length": length(wanted.embed)}
    if not strip.placing.whole:
        return (said,)
    return (said, gettext("%(mm)s from the nearest cut") % {"mm": length(strip.placing.nearest_mm)})


def figures(strip: Strip) -> tuple[Explanation, ...]:
    """How thick the bars are and how near a cut comes to an embed, with how that came about."""
    found = (_thickness(strip),)
    return found if strip.placing is None else (*found, _nearest(strip, strip.placing))


def _thickness(strip: Strip) -> Explanation:
    plan = strip.plan
    entries = (
        Entry(gettext("Length of the loaf"), length(strip.length)),
        Entry(gettext("Trimmed off each end"), length(plan.end_mm)),
        Entry(gettext("All cuts together"), length(plan.kerfs_mm)),
        Entry(gettext("Left over at the right end"), length(plan.leftover_mm)),
        Entry(gettext("Bars"), number(len(plan.bars))),
    )
    return Explanation(
        name=gettext("Thickness of a bar"),
        figure=length(plan.thickness_mm),
        formula=gettext(
            "The length of the loaf, less both ends, all cuts and what is left over, divided by the bars."
        ),
        entries=entries,
        source=gettext("Plain geometry, from the figures above."),
    )


def _nearest(strip: Strip, placing: Placing) -> Explanation:
    wanted = strip.wanted
    entries = (
        Entry(gettext("Thickness of a bar"), length(strip.plan.thickness_mm)),
        Entry(gettext("Embeds in a bar"), number(wanted.number)),
        Entry(gettext("Length along the loaf"), length(wanted.embed)),
        Entry(gettext("Least distance wanted"), length(wanted.distance)),
    )
    return Explanation(
        name=gettext("From an embed to the nearest cut"),
        figure=length(placing.nearest_mm) if placing.whole else gettext("a cut goes through"),
        formula=gettext(
            "Each bar is divided evenly among its embeds, and each lies in the middle of its share; half of "
            "what a share is longer than the embed is free on either side."
        ),
        entries=entries,
        source=gettext(
            "With three to a bar, bars of equal thickness carry all three whole. Common practice, no source."
        ),
        alarming=bool(placing.warnings),
    )
