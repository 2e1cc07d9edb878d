"""Drawn pictures of bars that never were, so that the demo has photo notes without anyone's photograph."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from io import BytesIO
from random import Random
from typing import Final

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageColor, ImageDraw, ImageFilter

from batches.services.colour import Place
from shared.bar_picture import BarPicture
from shared.cross_section import COARSE, Drawing, Figure, draw

BOARD, SIZE = "#b89b78", (1200, 900)

# The cut face lies on the left, the white card beside it: in pixels of the board, which is then made smaller
# so that no edge is jagged.
SMALLER: Final = 2
LEFT, FLOOR, WIDE, TALL = 90, 810, 750, 690
CARD, WHITE = (920, 360, 1120, 810), "#f3f3f3"
PATCH = 12  # pixels around a place that should show one colour only
DIGITS = Decimal("0.0001")

Box = tuple[float, float, float]
"""Where a drawing lies on the board: left, top, and pixels to its unit."""


def bar_picture(colour: str, *, days: int) -> SimpleUploadedFile:
    """A bar of that colour (#rrggbb) on a wooden board, a touch darker for each week, as an uploaded JPEG."""
    random = Random(f"{colour} {days}")  # noqa: S311 - the grain of a drawn board
    picture = Image.new("RGB", SIZE, BOARD)
    canvas = ImageDraw.Draw(picture)
    _grain(canvas, random)
    _bar(canvas, _darker(colour, days))
    return _upload(picture, "drawn-bar.jpg")


class CutFace:
    """The cut face of a batch: its drawing stays the same while its colours turn."""

    def __init__(self, look: BarPicture, seed: str) -> None:
        self.look = look
        self._seed = seed

    def photo(self, colours: Mapping[str, str], *, days: int) -> SimpleUploadedFile:
        """The face beside a white card, its layers in other colours by name, as an uploaded JPEG."""
        random = Random(f"{self._seed} {days}")  # noqa: S311 - the grain of a drawn board
        picture = Image.new("RGB", SIZE, BOARD)
        canvas = ImageDraw.Draw(picture)
        _grain(canvas, random)
        drawing = self._drawing(self.look.turned(colours))
        _paint(canvas, drawing, lambda figure: figure.colour)
        canvas.rectangle(CARD, fill=WHITE)
        return _upload(picture.reduce(SMALLER), "drawn-face.jpg")

    @property
    def card(self) -> Place:
        """The middle of the white card."""
        left, top, right, bottom = CARD
        return Place(_share(left + right, 2 * SIZE[0]), _share(top + bottom, 2 * SIZE[1]))

    def places(self) -> dict[str, Place]:
        """By layer the place that shows most of it and least of anything else."""
        names = [layer.name for layer in self.look.layers]
        numbered = Image.new("L", SIZE)
        shade = {name: number for number, name in enumerate(names, 1)}
        _paint(ImageDraw.Draw(numbered), self._drawing(self.look), lambda figure: shade.get(figure.name, 0))
        return {name: _middle_of(numbered, shade[name]) for name in names}

    def _drawing(self, look: BarPicture) -> Drawing:
        return draw(
            look.layers,
            look.embeds,
            look.toppings,
            width=look.width or 80.0,
            height=look.height or 60.0,
            seed=self._seed,
            tolerance=COARSE,
        )


def _paint(canvas: ImageDraw.ImageDraw, drawing: Drawing, fill: Callable[[Figure], str | int]) -> None:
    scale = min(WIDE / drawing.width, TALL / drawing.height)
    box = (LEFT, FLOOR - scale * drawing.height, scale)
    for figure in (*drawing.embeds, *drawing.bands, *drawing.figures, *drawing.toppings):
        for outline in _outlines(figure.path, box):
            canvas.polygon(outline, fill=fill(figure))


def _outlines(path: str, box: Box) -> list[list[tuple[float, float]]]:
    """The outlines of path data such as M0 0 10 0 10 10Z."""
    left, top, scale = box
    outlines = []
    for each in path.split("M")[1:]:
        figures = [scale * float(figure) for figure in each.rstrip("Z").split()]
        outlines.append([(left + x, top + y) for x, y in zip(figures[::2], figures[1::2], strict=True)])
    return outlines


def _middle_of(numbered: Image.Image, shade: int) -> Place:
    alone = numbered.point([255 if level == shade else 0 for level in range(256)])
    blurred = alone.filter(ImageFilter.BoxBlur(2 * PATCH)).tobytes()
    y, x = divmod(blurred.index(max(blurred)), SIZE[0])
    return Place(_share(x, SIZE[0]), _share(y, SIZE[1]))


def _share(part: int, whole: int) -> Decimal:
    return (Decimal(part) / whole).quantize(DIGITS)


def _upload(picture: Image.Image, name: str) -> SimpleUploadedFile:
    file = BytesIO()
    picture.save(file, "JPEG", quality=85)
    return SimpleUploadedFile(name, file.getvalue(), "image/jpeg")


def _grain(canvas: ImageDraw.ImageDraw, random: Random) -> None:
    for y in range(0, SIZE[1], 9):
        shade = random.randint(-14, 14)
        canvas.line([(0, y), (SIZE[0], y + random.randint(-6, 6))], fill=_shifted(BOARD, shade), width=5)


def _bar(canvas: ImageDraw.ImageDraw, colour: str) -> None:
    canvas.polygon([(300, 330), (880, 280), (960, 360), (380, 420)], fill=_shifted(colour, 22))
    canvas.polygon([(380, 420), (960, 360), (960, 610), (380, 690)], fill=colour)
    canvas.polygon([(300, 330), (380, 420), (380, 690), (300, 590)], fill=_shifted(colour, -26))


def _darker(colour: str, days: int) -> str:
    return _shifted(colour, -days // 2)


def _shifted(colour: str, by: int) -> str:
    channels = (min(255, max(0, channel + by)) for channel in ImageColor.getrgb(colour)[:3])
    return "#" + "".join(f"{channel:02x}" for channel in channels)
