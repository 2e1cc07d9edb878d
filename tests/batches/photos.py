"""Photos of soap beside a card, in light of a known cast: what is measured in them is known beforehand."""

from __future__ import annotations

from decimal import Decimal

from PIL import Image, ImageDraw

from batches.services.colour import Place
from shared.colour import WHITE_CARD, Lab, to_hex
from tests.core.pictures import encoded

Light = tuple[float, float, float]

DAYLIGHT: Light = (0.8, 0.8, 0.8)
LAMP: Light = (0.85, 0.72, 0.55)
"""Linear light of red, green and blue, less than full: a white card is not cut off."""
TABLE = Lab(65, 18, 40)
SOAP = Lab(70, 6, 22)

CARD, BAR, SECOND = (Place(Decimal(x), Decimal("0.5")) for x in ("0.15", "0.5", "0.85"))
"""Where the card and the bars of these photos lie."""


def beside_card(
    *bars: Lab,
    light: Light = DAYLIGHT,
    card: Lab | None = WHITE_CARD,
    size: tuple[int, int] = (640, 480),
    quality: int = 80,
) -> bytes:
    """A JPEG with a card at the left and one bar or two on a table; without a card where it is None."""
    image = Image.new("RGB", size, _in(light, TABLE))
    drawing = ImageDraw.Draw(image)
    for place, colour in zip((CARD, BAR, SECOND), (card or TABLE, *(bars or (SOAP,))), strict=False):
        x, y = float(place.x) * size[0], float(place.y) * size[1]
        drawing.rectangle(
            [x - 0.1 * size[0], y - 0.2 * size[1], x + 0.1 * size[0], y + 0.2 * size[1]], _in(light, colour)
        )
    return encoded(image, "JPEG", quality=quality)


def _in(light: Light, colour: Lab) -> tuple[int, int, int]:
    """How a camera sees a colour in that light."""
    channels = bytes.fromhex(to_hex(colour)[1:])
    red, green, blue = (
        round(255 * _encoded(part * _linear(channel / 255)))
        for channel, part in zip(channels, light, strict=True)
    )
    return red, green, blue


def _linear(signal: float) -> float:
    """IEC 61966-2-1."""
    return signal / 12.92 if signal <= 0.04045 else ((signal + 0.055) / 1.055) ** 2.4


def _encoded(light: float) -> float:
    return 12.92 * light if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055
