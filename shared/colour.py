"""The colour of soap from a photo that shows a white or grey card beside it, and how it changes over weeks.

Colours are CIELAB for D65 and the 2° observer (CIE 15:2004); those of a photo are sRGB (IEC 61966-2-1), 0 to
255 a channel. Differences are CIEDE2000 (Sharma, Wu, Dalal 2005) and have no unit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Final, NamedTuple

from shared.explained import Statement
from shared.words import Phrase


class ColourError(ValueError):
    """A colour that cannot be used; ``field`` is "bar", "card", "card_colour", "colour", "readings" or
    "threshold"."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


class Rgb(NamedTuple):
    """A colour of a photo, 0 to 255 a channel; the mean of a patch need not be whole."""

    red: float
    green: float
    blue: float


class Lab(NamedTuple):
    """CIELAB: ``lightness`` from 0 (black) to 100 (white), ``a`` green to red, ``b`` blue to yellow."""

    lightness: float
    a: float
    b: float


WHITE_CARD: Final = Lab(96.0, 0.0, 0.0)
"""A white card, taken to reflect nine tenths of the light: common practice, no source."""
GREY_CARD: Final = Lab(49.5, 0.0, 0.0)
"""The photographer's grey card, which reflects 18 %: common practice, no source."""
SIDE_BY_SIDE: Final = 1.0
"""CIEDE2000; about what the eye sees of two colours side by side: common practice, no source."""

# What a photo can be trusted with: common practice, no source.
_CLIPPED: Final = 253.0
"""Channel from which a camera may have cut off light."""
_TOO_DARK: Final = 50.0
"""Channel of the card below which the steps and the noise of a photo show in the result."""
_STRONGEST_CAST: Final = 2.5
"""Times the light in the weakest channel of the card that the strongest one may have."""
_BRIGHTEST: Final = 1.1
"""Times the light of perfect white; so much passes for white in slightly uneven light."""
_DARKEST_CARD: Final = 30.0
_MOST_CHROMA_OF_CARD: Final = 10.0
_FARTHEST: Final = 200.0
"""a and b; no real colour lies farther out."""
_WEEK: Final = 7

Light = tuple[float, float, float]
"""Three channels of light, 1 for perfect white."""
_Matrix = tuple[Light, Light, Light]

_TO_XYZ: Final[_Matrix] = (
    (0.4124, 0.3576, 0.1805),
    (0.2126, 0.7152, 0.0722),
    (0.0193, 0.1192, 0.9505),
)
"""IEC 61966-2-1, recalled."""
_FROM_XYZ: Final[_Matrix] = (
    (3.2406255, -1.5372080, -0.4986286),
    (-0.9689307, 1.8757561, 0.0415175),
    (0.0557101, -0.2040211, 1.0569959),
)
"""Its inverse, as in amendment 1 of IEC 61966-2-1, recalled; a test holds that it is the inverse."""
_WHITE: Final[Light] = (0.9505, 1.0, 1.0890)
"""XYZ of sRGB white, which is D65: the sums of the rows above."""
_BEND: Final = 6 / 29
"""CIE 15:2004: the cube root gives way to a straight line below its cube."""


# sRGB and CIELAB


def to_lab(colour: Rgb) -> Lab:
    """CIELAB of an sRGB colour as it stands. Raises ColourError for a channel outside 0 to 255."""
    return _lab_of_light(_light_of(colour, "colour"))


def to_hex(colour: Lab) -> str:
    """The nearest that a screen can draw, such as "#c8a27d": each channel is cut off at the gamut of sRGB.

    Raises ColourError for a colour that cannot be.
    """
    _check(colour, "colour")
    return "#" + "".join(f"{round(255 * _encoded(channel)):02x}" for channel in _light_of_lab(colour))


def _light_of(colour: Rgb, field: str) -> Light:
    if not all(0 <= channel <= 255 for channel in colour):
        raise ColourError(field, Phrase("Each channel of a colour must lie between 0 and 255."))
    red, green, blue = (_decoded(channel / 255) for channel in colour)
    return red, green, blue


def _decoded(signal: float) -> float:
    return signal / 12.92 if signal <= 0.04045 else ((signal + 0.055) / 1.055) ** 2.4


def _encoded(light: float) -> float:
    light = min(max(light, 0.0), 1.0)
    return 12.92 * light if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055


def _times(matrix: _Matrix, light: Light) -> Light:
    one, two, three = (sum(a * b for a, b in zip(row, light, strict=True)) for row in matrix)
    return one, two, three


def _lab_of_light(light: Light) -> Lab:
    x, y, z = (_bent(part / white) for part, white in zip(_times(_TO_XYZ, light), _WHITE, strict=True))
    return Lab(116 * y - 16, 500 * (x - y), 200 * (y - z))


def _light_of_lab(colour: Lab) -> Light:
    y = (colour.lightness + 16) / 116
    bent = (y + colour.a / 500, y, y - colour.b / 200)
    x, y, z = (_straight(part) * white for part, white in zip(bent, _WHITE, strict=True))
    return _times(_FROM_XYZ, (x, y, z))


def _bent(part: float) -> float:
    return math.cbrt(part) if part > _BEND**3 else part / (3 * _BEND**2) + 4 / 29


def _straight(bent: float) -> float:
    return bent**3 if bent > _BEND else 3 * _BEND**2 * (bent - 4 / 29)


def _check(colour: Lab, field: str) -> None:
    in_lightness = -1e-6 <= colour.lightness <= 100 + 1e-6
    if not (in_lightness and all(abs(part) <= _FARTHEST for part in (colour.a, colour.b))):
        raise ColourError(
            field,
            Phrase(
                "The lightness must lie between 0 and 100, a and b between -%(most)s and %(most)s.",
                most=f"{_FARTHEST:.0f}",
            ),
        )


# A patch of a photo


def measured(bar: Rgb, card: Rgb, *, card_colour: Lab = WHITE_CARD) -> Lab:
    """The colour of a bar from a photo, as it would be in daylight (D65).

    ``bar`` and ``card`` are the mean colours of two patches of one photo; ``card_colour`` is what the card is
    known to be. Each channel of linear light is scaled so that the card comes out as it is known; that holds
    for even light of a mild cast. Up to a tenth brighter than white counts as white. Raises ColourError,
    with words on what to do, for a patch or a card that tells nothing.
    """
    bar_light, card_light = _light_of(bar, "bar"), _light_of(card, "card")
    _check_card_colour(card_colour)
    if max(card) >= _CLIPPED:
        words = Phrase("The card is too bright in the photo: its colour is cut off. Take it with less light.")
        raise ColourError("card", words)
    if min(card) < _TOO_DARK:
        words = Phrase("The card is too dark in the photo to tell its colour. Take it with more light.")
        raise ColourError("card", words)
    if max(bar) >= _CLIPPED:
        words = Phrase("The bar is too bright in the photo: its colour is cut off. Take it with less light.")
        raise ColourError("bar", words)
    gains = [known / seen for known, seen in zip(_light_of_lab(card_colour), card_light, strict=True)]
    if max(gains) > _STRONGEST_CAST * min(gains):
        words = Phrase(
            "What is marked as the card is strongly coloured. Mark a white or grey card, or take the photo "
            "in daylight."
        )
        raise ColourError("card", words)
    red, green, blue = (gain * light for gain, light in zip(gains, bar_light, strict=True))
    if max(red, green, blue) > _BRIGHTEST:
        words = Phrase(
            "The bar comes out brighter than white. Lay the card beside the bar in the same light, and check "
            "which card it is."
        )
        raise ColourError("bar", words)
    return _lab_of_light((min(red, 1.0), min(green, 1.0), min(blue, 1.0)))


def _check_card_colour(colour: Lab) -> None:
    _check(colour, "card_colour")
    if colour.lightness < _DARKEST_CARD or math.hypot(colour.a, colour.b) > _MOST_CHROMA_OF_CARD:
        words = Phrase(
            "The card must be white or grey: its lightness at least %(darkest)s, a and b near 0.",
            darkest=f"{_DARKEST_CARD:.0f}",
        )
        raise ColourError("card_colour", words)


# How far apart


def difference(one: Lab, other: Lab) -> float:
    """Difference of two colours by CIEDE2000, all weights 1. Raises ColourError for what is no colour.

    G. Sharma, W. Wu, E. N. Dalal, The CIEDE2000 Color-Difference Formula, Color Research and Application
    30(1), 2005; the names of the parts are theirs.
    """
    for colour in (one, other):
        _check(colour, "colour")
    chroma_mean = (math.hypot(one.a, one.b) + math.hypot(other.a, other.b)) / 2
    stretch = 1 + 0.5 * (1 - _bluish(chroma_mean))
    c1, h1 = _polar(stretch * one.a, one.b)
    c2, h2 = _polar(stretch * other.a, other.b)
    hue_step, hue = _hues(h1, h2) if c1 and c2 else (0.0, h1 + h2)
    lightness, chroma = (one.lightness + other.lightness) / 2, (c1 + c2) / 2
    t = (
        1
        - 0.17 * _cos(hue - 30)
        + 0.24 * _cos(2 * hue)
        + 0.32 * _cos(3 * hue + 6)
        - 0.20 * _cos(4 * hue - 63)
    )
    off_middle = (lightness - 50) ** 2
    in_l = (other.lightness - one.lightness) / (1 + 0.015 * off_middle / math.sqrt(20 + off_middle))
    in_c = (c2 - c1) / (1 + 0.045 * chroma)
    in_h = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(hue_step / 2)) / (1 + 0.015 * chroma * t)
    turn = 60 * math.exp(-(((hue - 275) / 25) ** 2))
    rotation = -2 * _bluish(chroma) * math.sin(math.radians(turn))
    return math.sqrt(max(in_l**2 + in_c**2 + in_h**2 + rotation * in_c * in_h, 0.0))


def _bluish(chroma: float) -> float:
    return math.sqrt(chroma**7 / (chroma**7 + 25.0**7))


def _polar(a: float, b: float) -> tuple[float, float]:
    """Chroma and hue in degrees; grey has no hue and counts as 0."""
    chroma = math.hypot(a, b)
    return chroma, math.degrees(math.atan2(b, a)) % 360 if chroma else 0.0


def _hues(h1: float, h2: float) -> tuple[float, float]:
    """The step from one hue to the other the shorter way round, and the hue in the middle, in degrees."""
    step, total = h2 - h1, h1 + h2
    if abs(step) <= 180:
        return step, total / 2
    return step - math.copysign(360, step), (total + 360 if total < 360 else total - 360) / 2


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))


# Over weeks


class Reading(NamedTuple):
    """The colour of one portion on one day."""

    on: date
    colour: Lab


class Change(NamedTuple):
    """What has changed since the first reading, so many days ago: CIEDE2000, and L* (below 0: darker)."""

    on: date
    days: int
    difference: float
    lightness: float


@dataclass(frozen=True, slots=True)
class Course:
    """How a colour has gone, each change against the first day, and whether it has settled.

    ``settled`` is None while no two readings lie a week apart.
    """

    changes: tuple[Change, ...]
    settled: bool | None
    verdict: Statement


def course(readings: Iterable[Reading], *, threshold: float = SIDE_BY_SIDE) -> Course:
    """The change of one portion's colour by day, from readings in any order.

    Of two readings on one day the later in the list counts. Settled is a colour that differs by less than
    ``threshold`` (CIEDE2000) from the last reading that is a week old or older; where that is much older,
    this asks more than a week's rest. Raises ColourError without a reading or for a threshold not above 0.
    """
    if not 0 < threshold < math.inf:
        raise ColourError("threshold", Phrase("The change that still counts as settled must be above 0."))
    by_day = sorted({on: Reading(on, colour) for on, colour in readings}.values())
    if not by_day:
        raise ColourError("readings", Phrase("There is no reading of this colour yet."))
    first, last = by_day[0], by_day[-1]
    changes = tuple(_change(first, reading) for reading in by_day)
    earlier = [reading for reading in by_day if (last.on - reading.on).days >= _WEEK]
    if not earlier:
        words = Phrase("It is too early to say whether the colour has settled.")
        because = Phrase("no two readings lie a week apart")
        return Course(changes, None, Statement(words, because))
    lately = _change(earlier[-1], last)
    settled = lately.difference < threshold
    because = Phrase(
        "changed by %(change)s in the last %(days)s days; from %(threshold)s on the eye sees it side by side",
        change=f"{lately.difference:.1f}",
        days=lately.days,
        threshold=f"{threshold:g}",
    )
    return Course(changes, settled, Statement(_in_words(lately, settled=settled), because))


def _change(since: Reading, now: Reading) -> Change:
    return Change(
        now.on,
        (now.on - since.on).days,
        difference(since.colour, now.colour),
        now.colour.lightness - since.colour.lightness,
    )


def _in_words(change: Change, *, settled: bool) -> Phrase:
    if settled:
        return Phrase("The colour has settled.")
    if abs(change.lightness) < change.difference / 2:
        return Phrase("The colour is still changing, though it is hardly lighter or darker.")
    if change.lightness < 0:
        return Phrase("The colour is still growing darker.")
    return Phrase("The colour is still growing lighter.")
