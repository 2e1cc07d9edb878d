"""Drawn pictures of bars that never were, so that the demo has photo notes without anyone's photograph."""

from __future__ import annotations

from io import BytesIO
from random import Random

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageColor, ImageDraw

BOARD, SIZE = "#b89b78", (1200, 900)


def bar_picture(colour: str, *, days: int) -> SimpleUploadedFile:
    """A bar of that colour (#rrggbb) on a wooden board, a touch darker for each week, as an uploaded JPEG."""
    random = Random(f"{colour} {days}")  # noqa: S311 - the grain of a drawn board
    picture = Image.new("RGB", SIZE, BOARD)
    draw = ImageDraw.Draw(picture)
    _grain(draw, random)
    _bar(draw, _darker(colour, days))
    file = BytesIO()
    picture.save(file, "JPEG", quality=85)
    return SimpleUploadedFile("drawn-bar.jpg", file.getvalue(), "image/jpeg")


def _grain(draw: ImageDraw.ImageDraw, random: Random) -> None:
    for y in range(0, SIZE[1], 9):
        shade = random.randint(-14, 14)
        draw.line([(0, y), (SIZE[0], y + random.randint(-6, 6))], fill=_shifted(BOARD, shade), width=5)


def _bar(draw: ImageDraw.ImageDraw, colour: str) -> None:
    draw.polygon([(300, 330), (880, 280), (960, 360), (380, 420)], fill=_shifted(colour, 22))
    draw.polygon([(380, 420), (960, 360), (960, 610), (380, 690)], fill=colour)
    draw.polygon([(300, 330), (380, 420), (380, 690), (300, 590)], fill=_shifted(colour, -26))


def _darker(colour: str, days: int) -> str:
    return _shifted(colour, -days // 2)


def _shifted(colour: str, by: int) -> str:
    channels = (min(255, max(0, channel + by)) for channel in ImageColor.getrgb(colour)[:3])
    return "#" + "".join(f"{channel:02x}" for channel in channels)
