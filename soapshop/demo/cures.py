"""How the bars of the invented workshop have fared since they were cut."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from typing import Final
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from PIL import ImageColor

from batches.frozen import FrozenRecipe
from batches.models import BarMovement, Batch, ColourReading, Cure, CureNote, Scent
from batches.queries.balance import balance
from batches.queries.picture import picture_of
from batches.services import bars, cure
from batches.services.colour import measure
from batches.services.outcome import note_outcome
from batches.splitting import splitting
from shared.colour import Lab, Rgb, to_hex, to_lab
from soapshop.core.models import User
from soapshop.demo.pictures import CutFace, bar_picture

WEEK = 7
SHARE_TRIMMED, SHARE_KEPT = Decimal("0.03"), Decimal("0.994")  # of what went into the mould
WEIGHED_BARS = 3

# What was seen in the cure, by days after the pour, and how strong the scent was.
SEEN = (
    (7, "A shade darker, edges firm.", Scent.STRONG),
    (14, "Hardly changes any more.", Scent.CLEAR),
    (21, "Hard, no ash.", Scent.CLEAR),
    (28, "Ready to be wrapped.", Scent.CLEAR),
    (35, "Nothing new.", Scent.FAINT),
)
SEEN_OF_PLAIN = SEEN[:2]
FACE_CUT = (1, "Cut clean. The face as it is today.", "")
BARS_CUT = (1, "Cut clean. Ends kept for the sink.", "")

# Loss of weight in the cure, as a share of the weight at the cut, by days: invented, of the usual shape.
DRYING = ((1, "0"), (7, "0.045"), (14, "0.071"), (21, "0.088"), (28, "0.098"), (42, "0.106"))

DAYS_TO_TURN: Final = 3.5
"""In which a colour goes most of its way: invented, as is by how much it goes."""
TO_RED: Final = 0.25  # a* for each L* that is lost: invented
HAND: Final = 0.3  # L* by which two photos of one bar may differ: invented


@dataclass(frozen=True, slots=True)
class Cured:
    """What came of a batch. `turns` says by portion ("" for the whole bar) how far L* drops in the end;
    `pebbles` are pieces that one bar was cut up into."""

    sold: int = 0
    pebbles: int = 0
    turns: Mapping[str, float] = field(default_factory=dict)
    words: str = ""
    as_meant: str = ""
    otherwise: str = ""


def cure_since(batch: Batch, cured: Cured, by: User) -> None:
    """Cut the batch the day after it was poured, then look at it, weigh and turn it until now."""
    record = batch.cure
    on = record.started_on + timedelta(days=1)
    _cut(batch, record, on, by)
    if cured.turns:
        _photograph(batch, record, cured, by)
    else:
        _note_plainly(batch, record, by)
    if cured.as_meant:
        face = CutFace(picture_of(batch).look, batch.code)
        note_outcome(
            cure=record,
            as_meant=cured.as_meant,
            otherwise=cured.otherwise,
            photo=face.photo({}, days=1),
            on=on,
            by=by,
        )
    _weigh_in(record, by)
    _turn(record)
    if cured.sold:
        bars.take_bars(
            cure=record,
            count=cured.sold,
            kind=BarMovement.Kind.SOLD,
            key=uuid4(),
            by=by,
            reason="Saturday market",
        )
    if cured.pebbles:
        bars.make_embeds(
            cure=record,
            count=1,
            pieces=Decimal(cured.pebbles),
            name="Slate pebbles",
            colour="#59626a",
            piece_grams=Decimal(4),
            piece_length=Decimal(7),
            key=uuid4(),
            by=by,
        )


def _cut(batch: Batch, record: Cure, on: date, by: User) -> None:
    moulded = in_mould(batch)
    trimmings = (moulded * SHARE_TRIMMED).quantize(Decimal(1))
    cure.cut(
        cure=record,
        on=on,
        bars=batch.bars_planned,
        trimmings=trimmings,
        bars_weight=(moulded * SHARE_KEPT).quantize(Decimal(1)) - trimmings,
        key=uuid4(),
        by=by,
        place="rack, top shelf",
    )
    record.refresh_from_db()


def in_mould(batch: Batch) -> Decimal:
    """Grams that went into the mould, with what lies on top."""
    lines = list(batch.lines.select_related("material").prefetch_related("weighings"))
    split = splitting(FrozenRecipe.from_json(batch.frozen), lines, batch.jugs.all())
    poured = balance(lines, split, None)
    return poured.went[0].grams if poured else Decimal(0)


def _photograph(batch: Batch, record: Cure, cured: Cured, by: User) -> None:
    """The cut face beside a white card each week, and its colours measured in it."""
    face = CutFace(picture_of(batch).look, batch.code)
    places = face.places()
    jugs = {jug.name: jug.pk for jug in batch.jugs.all()}
    for day, words, scent in (FACE_CUT, *SEEN):
        if day >= _days_since(record):
            break
        said = cured.words if day == 2 * WEEK and cured.words else words
        colours = {
            layer.name: _turned(layer.colour, cured.turns.get(layer.name if jugs else "", 0), day)
            for layer in face.look.layers
        }
        note = _note(record, said, face.photo(colours, days=day), day, by, scent)
        measure(
            note=note,
            card=face.card,
            card_kind=ColourReading.Card.WHITE,
            places={jugs.get(name): place for name, place in places.items()},
            by=by,
        )


def _note_plainly(batch: Batch, record: Cure, by: User) -> None:
    colour = FrozenRecipe.from_json(batch.frozen).bar_colour
    for day, words, scent in (BARS_CUT, *SEEN_OF_PLAIN):
        if day < _days_since(record):
            _note(record, words, bar_picture(colour, days=day), day, by, scent)


def _note(record: Cure, words: str, photo: SimpleUploadedFile, day: int, by: User, scent: str) -> CureNote:
    on = record.started_on + timedelta(days=day)
    return cure.add_note(
        cure=record,
        words=words,
        photo=photo,
        key=uuid4(),
        by=by,
        at=timezone.make_aware(datetime.combine(on, time(9, 5))),
        scent=scent,
    )


def _turned(colour: str, drop: float, day: int) -> str:
    """What becomes of a colour by that day of the cure; what loses lightness reddens."""
    lightness, a, b = to_lab(Rgb(*ImageColor.getrgb(colour)[:3]))
    gone = drop * (1 - math.exp(-(day - 1) / DAYS_TO_TURN))
    seen = Random(f"{colour} {day}").uniform(-HAND, HAND)  # noqa: S311 - the light of that day
    return to_hex(Lab(lightness - gone + seen, a + TO_RED * max(gone, 0), b))


def _weigh_in(record: Cure, by: User) -> None:
    bars_weighed = min(WEIGHED_BARS, record.bars_cut or 0)
    fresh = bars_weighed * (record.bars_weight or Decimal(0)) / (record.bars_cut or 1)
    for day, lost in DRYING:
        if day <= _days_since(record):
            cure.weigh_in(
                cure=record,
                on=record.started_on + timedelta(days=day),
                grams=(fresh * (1 - Decimal(lost))).quantize(Decimal(1)),
                bars=bars_weighed,
                key=uuid4(),
                by=by,
            )


def _turn(record: Cure) -> None:
    """Each week since the cut, but not today: the service notes what is turned now."""
    weeks = (_days_since(record) - 2) // WEEK
    if weeks > 0:
        turned_on = record.started_on + timedelta(days=1 + WEEK * weeks)
        Cure.objects.filter(pk=record.pk).update(turned_on=turned_on)


def _days_since(record: Cure) -> int:
    return (timezone.localdate() - record.started_on).days
