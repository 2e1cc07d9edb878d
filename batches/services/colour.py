"""The colour of a batch's portions, measured in the photo of a note that shows a white or grey card."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from decimal import Decimal
from statistics import fmean
from typing import NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext
from PIL import Image

from batches.models import ColourReading, CureNote
from batches.services.cure import lock_open
from batches.services.moment import day_in_words
from batches.services.picture import tell_picture
from batches.services.told_recipe import tell_colours
from shared.colour import GREY_CARD, WHITE_CARD, ColourError, Lab, Rgb, measured
from soapshop.core.access import require_maker
from soapshop.core.models import Photo, User
from soapshop.core.services.history import record
from soapshop.core.words import in_words

Card = ColourReading.Card
COLOUR_OF = {Card.WHITE: WHITE_CARD, Card.GREY: GREY_CARD}

DISC = 0.015
"""Radius of the patch, as a share of the photo's shorter side: common practice, no source."""
LEAST_RADIUS = 2.0
"""In pixels, so that a very small photo gives more than one pixel."""


class Place(NamedTuple):
    """A place in a photo, as shares of its width and height from its top left."""

    x: Decimal
    y: Decimal


@transaction.atomic
def measure(
    *, note: CureNote, card: Place, card_kind: str, places: Mapping[int | None, Place], by: User
) -> list[ColourReading]:
    """Measures each place beside the card, in one photo. Measured again, it replaces what was there.

    `places` are those of portions by the key of their jug, or of the bar by None. Sent twice, it counts once.
    Raises ValidationError (fields 'card', 'bar', 'jug_7' for the portion whose key is 7).
    """
    require_maker(by)
    cure = lock_open(note.cure)
    if note.photo is None:
        raise ValidationError(gettext("This note has no photo."))
    if not places:
        raise ValidationError(gettext("Tap the soap too: nothing is marked but the card."))
    known: set[int | None] = set(cure.batch.jugs.filter(dropped=False).values_list("pk", flat=True))
    if not (known or {None}) >= places.keys():
        raise ValidationError(gettext("This portion is not one of %(batch)s.") % {"batch": cure.batch.code})
    found = _colours(note.photo, card, Card(card_kind), places)
    readings = [
        ColourReading(
            note=note,
            jug_id=jug,
            card=card_kind,
            card_x=card.x,
            card_y=card.y,
            x=places[jug].x,
            y=places[jug].y,
            lightness=_stored(colour.lightness),
            a=_stored(colour.a),
            b=_stored(colour.b),
            by=by,
        )
        for jug, colour in found.items()
    ]
    before = list(note.readings.all())
    if _said(before) == _said(readings):
        return before
    note.readings.all().delete()
    ColourReading.objects.bulk_create(readings)
    tell_picture(batch=cure.batch)
    tell_colours(batch=cure.batch)
    _tell(note, gettext("Measured the colour of %(batch)s in the photo of %(day)s"), by)
    return readings


@transaction.atomic
def remove(*, note: CureNote, by: User) -> None:
    """Forgets what was measured in the photo of a note; where nothing was, nothing happens."""
    require_maker(by)
    cure = lock_open(note.cure)
    removed, _ = note.readings.all().delete()
    if removed:
        tell_picture(batch=cure.batch)
        tell_colours(batch=cure.batch)
        _tell(note, gettext("Removed the colour of %(batch)s in the photo of %(day)s"), by)


def patch(picture: Image.Image, place: Place) -> Rgb:
    """The mean colour of a disc around a place in an RGB picture; it ends at the picture's edge.

    Its darkest and its brightest quarter are left out, so that a crumb, a glint or a speck does not count.
    """
    radius = max(DISC * min(picture.size), LEAST_RADIUS)
    across, down = float(place.x) * (picture.width - 1), float(place.y) * (picture.height - 1)
    box = (
        max(0, math.floor(across - radius)),
        max(0, math.floor(down - radius)),
        min(picture.width, math.ceil(across + radius) + 1),
        min(picture.height, math.ceil(down + radius) + 1),
    )
    left, top, right, bottom = box
    data, width = picture.crop(box).tobytes(), right - left
    inside = [
        data[3 * (y * width + x) : 3 * (y * width + x) + 3]
        for y in range(bottom - top)
        for x in range(width)
        if math.hypot(left + x - across, top + y - down) <= radius
    ]
    inside.sort(key=sum)
    quarter = len(inside) // 4
    red, green, blue = map(fmean, zip(*inside[quarter : len(inside) - quarter], strict=True))
    return Rgb(red, green, blue)


def field_of(jug: int | None) -> str:
    """The name of a portion, or of the bar, among the fields of an error and of a form."""
    return "bar" if jug is None else f"jug_{jug}"


def _colours(
    photo: Photo, card: Place, kind: Card, places: Mapping[int | None, Place]
) -> dict[int | None, Lab]:
    """The colour of each place. Raises ValidationError with what is wrong with the card or with places."""
    picture = _read(photo)
    seen = patch(picture, card)
    found: dict[int | None, Lab] = {}
    errors: dict[str, str] = {}
    for jug, place in places.items():
        try:
            found[jug] = measured(patch(picture, place), seen, card_colour=COLOUR_OF[kind])
        except ColourError as error:
            errors["card" if error.field == "card" else field_of(jug)] = in_words(error.args[0])
    if errors:
        raise ValidationError(errors)
    return found


def _read(photo: Photo) -> Image.Image:
    try:
        with photo.full.open() as file, Image.open(file) as image:
            return image.convert("RGB")
    except OSError as error:
        raise ValidationError(gettext("The file of this photo cannot be read.")) from error


def _stored(figure: float) -> Decimal:
    return Decimal(figure).quantize(Decimal("0.01"))


def _said(readings: Iterable[ColourReading]) -> set[tuple[object, ...]]:
    """What was asked for and came out, without who asked."""
    names = ("jug_id", "card", "card_x", "card_y", "x", "y", "lightness", "a", "b")
    return {tuple(getattr(reading, name) for name in names) for reading in readings}


def _tell(note: CureNote, words: str, by: User) -> None:
    batch = note.cure.batch
    figures = {"batch": batch.code, "day": day_in_words(timezone.localdate(note.at))}
    record(by=by, subject=batch, what=words % figures)
