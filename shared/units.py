"""Weights, volumes, lengths and temperatures as people type and read them.

The grammar is ours and closed; the factors come from pint's registry, which holds the exact definitions of
NIST Handbook 44, Appendix C. Spoons, cups, pints, quarts and gallons are those of the United States unless
"imp" or "uk" stands before them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import TYPE_CHECKING, Final, Literal

from shared.words import Phrase

if TYPE_CHECKING:
    from pint import UnitRegistry

MAX_LENGTH: Final = 60
"""Characters; the longest quantity that is read at all."""
MAX_QUANTITY: Final = Decimal(10) ** 9
"""Grams, millilitres or millimetres; anything above is a slip."""

NARROW_SPACE: Final = "\u202f"
"""Narrow no-break space, between thousands."""
UNIT_SPACE: Final = "\u00a0"
"""No-break space, before the unit."""

_WEIGHTS: Final = {
    "mg": "milligram",
    "g": "gram",
    "gr": "gram",
    "gram": "gram",
    "grams": "gram",
    "gramme": "gram",
    "grammes": "gram",
    "kg": "kilogram",
    "kilo": "kilogram",
    "kilos": "kilogram",
    "kilogram": "kilogram",
    "kilograms": "kilogram",
    "oz": "ounce",
    "ounce": "ounce",
    "ounces": "ounce",
    "lb": "pound",
    "lbs": "pound",
    "pound": "pound",
    "pounds": "pound",
}
_SPOONS: Final = {
    "ml": "milliliter",
    "millilitre": "milliliter",
    "millilitres": "milliliter",
    "milliliter": "milliliter",
    "milliliters": "milliliter",
    "cl": "centiliter",
    "dl": "deciliter",
    "l": "liter",
    "litre": "liter",
    "litres": "liter",
    "liter": "liter",
    "liters": "liter",
    "tsp": "teaspoon",
    "teaspoon": "teaspoon",
    "teaspoons": "teaspoon",
    "tbsp": "tablespoon",
    "tablespoon": "tablespoon",
    "tablespoons": "tablespoon",
    "cup": "cup",
    "cups": "cup",
}
_MEASURES: Final = {
    "fl oz": "fluid_ounce",
    "fluid ounce": "fluid_ounce",
    "fluid ounces": "fluid_ounce",
    "pt": "pint",
    "pint": "pint",
    "pints": "pint",
    "qt": "quart",
    "quart": "quart",
    "quarts": "quart",
    "gal": "gallon",
    "gallon": "gallon",
    "gallons": "gallon",
}
_VOLUMES: Final = {
    **_SPOONS,
    **_MEASURES,
    **{f"us {alias}": name for alias, name in _MEASURES.items()},
    **{
        f"{realm} {alias}": f"imperial_{name}"
        for realm in ("imp", "imperial", "uk")
        for alias, name in _MEASURES.items()
    },
}
_LENGTHS: Final = {
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "inch": "inch",
    "inches": "inch",
    '"': "inch",
    "″": "inch",
    "ft": "foot",
    "foot": "foot",
    "feet": "foot",
    "'": "foot",
    "′": "foot",
}
_TEMPERATURES: Final = {
    "c": "degree_Celsius",
    "°c": "degree_Celsius",
    "celsius": "degree_Celsius",
    "f": "degree_Fahrenheit",
    "°f": "degree_Fahrenheit",
    "fahrenheit": "degree_Fahrenheit",
}
_DIMENSIONS: Final[Mapping[str, tuple[Phrase, Mapping[str, str]]]] = {
    # the unit worked in, and what it is called in a message
    "gram": (Phrase("a weight"), _WEIGHTS),
    "milliliter": (Phrase("a volume"), _VOLUMES),
    "millimeter": (Phrase("a length"), _LENGTHS),
    "degree_Celsius": (Phrase("a temperature"), _TEMPERATURES),
}

_FRACTIONS: Final = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3", "⅛": " 1/8"}
_QUANTITY: Final = re.compile(r"(?P<number>[0-9.,][0-9.,/ ]*)(?P<unit>[^0-9]*)")
_PLAIN: Final = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+")
_THOUSANDS: Final = re.compile(
    r"(?P<whole>[1-9][0-9]{0,2}(?P<mark>[ ,.])[0-9]{3}(?:(?P=mark)[0-9]{3})*)"
    r"(?:(?!(?P=mark))[.,](?P<part>[0-9]+))?"
)
_TWO_WAYS: Final = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_FRACTION: Final = re.compile(r"(?:(?P<whole>[0-9]+) )?(?P<over>[0-9]+)/(?P<under>[0-9]*[1-9][0-9]*)")
_DUST: Final = Decimal("1e-9")
_FINEST_STEP: Final = Decimal("0.01")
"""Grams shown for a scale taken as exact."""


class UnitError(ValueError):
    """A text that is not the quantity asked for; ``words`` are meant for the one who typed it."""

    def __init__(self, words: str, **figures: object) -> None:
        self.words = Phrase(words, **figures)
        super().__init__(self.words)


def parse_weight(text: str, *, default_unit: str = "g", density: float | None = None) -> Decimal:
    """Grams from "2 lb 3 oz", "1.5 kg", "1,5 kg", "1 268 g", or a bare number in ``default_unit``.

    A volume ("3 tsp") is taken only with ``density`` in g/mL. Raises UnitError.
    """
    return _total(text, "gram", default_unit, density)


def parse_volume(text: str, *, default_unit: str = "ml") -> Decimal:
    """Millilitres from "8 fl oz", "1.2 l", or a bare number in ``default_unit``. Raises UnitError."""
    return _total(text, "milliliter", default_unit)


def parse_length(text: str, *, default_unit: str = "mm") -> Decimal:
    """Millimetres from "25 cm", "10 1/2 in", or a bare number in ``default_unit``. Raises UnitError."""
    return _total(text, "millimeter", default_unit)


def parse_capacity(text: str) -> Decimal:
    """Millilitres that a mould holds: from a volume, "1.2 l", or its inner sides, "250 × 80 × 60 mm".

    A side without a unit is in that of the last, else in millimetres. Raises UnitError.
    """
    sides = re.split(r"\s*[x×*]\s*", text.strip().lower())
    if len(sides) == 1:
        return parse_volume(text)
    if len(sides) != 3:
        raise UnitError("Give the length, width and fill height, such as 250 × 80 × 60 mm.")
    unit = re.sub(r"[\d\s.,/]+", "", sides[-1]) or "mm"
    length, width, height = (parse_length(side, default_unit=unit) for side in sides)
    return length * width * height / 1000


def parse_temperature(text: str, *, default_unit: str = "°C") -> Decimal:
    """Degrees Celsius from "40 °C", "104 F", or a bare number in ``default_unit``. Raises UnitError."""
    cleaned = _clean(text)
    sign = -1 if cleaned.startswith("-") else 1
    quantities = _split(cleaned.removeprefix("-").lstrip(), default_unit)
    if len(quantities) > 1:
        raise UnitError("Give one temperature, such as 40 °C.")
    number, unit = quantities[0]
    name = _unit_name(unit, "degree_Celsius")
    celsius = _registry().Quantity(sign * number, name).to("degree_Celsius").magnitude
    if not Decimal("-273.15") <= celsius <= 1000:
        raise UnitError("That temperature cannot be right.")
    return _tidy(celsius)


def format_weight(
    grams: Decimal, *, units: Literal["metric", "us"] = "metric", step: Decimal = Decimal(1)
) -> str:
    """A weight as the scale shows it, rounded to ``step`` grams: "1 268 g", or "2 lb 12.73 oz"."""
    step = step if step > 0 else _FINEST_STEP
    rounded = (grams / step).quantize(Decimal(1), ROUND_HALF_UP) * step
    if units == "metric":
        return _with_unit(_trim(rounded, step), "g")
    ounces = rounded / _factor("ounce", "gram")
    places = Decimal(1) if step >= 28 else Decimal("0.1") if step > 2 else Decimal("0.01")
    ounces = ounces.quantize(places, ROUND_HALF_UP)
    pounds, ounces = divmod(ounces, 16) if ounces >= 0 else (Decimal(0), ounces)
    if not pounds:
        return _with_unit(ounces, "oz")
    return f"{_with_unit(pounds, 'lb')} {_with_unit(ounces, 'oz')}"


def format_stock(grams: Decimal, *, units: Literal["metric", "us"] = "metric") -> str:
    """A weight on the shelf: whole grams (ounces) below 10 kg (10 lb), tenths of a kilogram (pound) above."""
    large, small = ("kg", "g") if units == "metric" else ("lb", "oz")
    per_large, per_small = _factor(_WEIGHTS[large], "gram"), _factor(_WEIGHTS[small], "gram")
    if abs(grams) >= 10 * per_large:
        return _with_unit((grams / per_large).quantize(Decimal("0.1"), ROUND_HALF_UP), large)
    return _with_unit((grams / per_small).quantize(Decimal(1), ROUND_HALF_UP), small)


def _with_unit(value: Decimal, unit: str) -> str:
    return f"{value:,f}".replace(",", NARROW_SPACE) + UNIT_SPACE + unit


def _trim(value: Decimal, step: Decimal) -> Decimal:
    """As many decimals as the step has."""
    exponent = step.normalize().as_tuple().exponent
    return value.quantize(Decimal(1).scaleb(min(int(exponent), 0)), ROUND_HALF_UP)


def _total(text: str, base: str, default_unit: str, density: float | None = None) -> Decimal:
    """Sum of the quantities in the text, in the base unit."""
    total = Decimal(0)
    for number, unit in _split(_clean(text), default_unit):
        if density is not None and unit in _VOLUMES:
            total += number * _factor(_VOLUMES[unit], "milliliter") * Decimal(str(density))
        else:
            total += number * _factor(_unit_name(unit, base), base)
    if total > MAX_QUANTITY:
        raise UnitError("That is more than any workshop holds. Check the figure.")
    return _tidy(total)


def _clean(text: str) -> str:
    """Lower case, single spaces, plain fractions and a plain minus."""
    if len(text) > MAX_LENGTH:
        raise UnitError("That is too long to be a quantity.")
    for sign, fraction in _FRACTIONS.items():
        text = text.replace(sign, fraction)
    cleaned = " ".join(text.replace("−", "-").lower().split())
    if not cleaned:
        raise UnitError("Give a figure, such as 250.")
    return cleaned


def _split(cleaned: str, default_unit: str) -> list[tuple[Decimal, str]]:
    """Numbers with their units, for example [(2, "lb"), (3, "oz")]."""
    if cleaned.startswith("-"):
        raise UnitError("A quantity cannot be below zero.")
    quantities = []
    position = 0
    while position < len(cleaned):
        match = _QUANTITY.match(cleaned, position)
        if not match:
            raise UnitError("This cannot be read as a quantity. Write it like 250 g or 2 lb 3 oz.")
        unit = " ".join(match["unit"].replace(".", " ").replace(",", " ").split()).removesuffix(" and")
        quantities.append((_number(match["number"].strip()), unit))
        position = match.end()
    if len(quantities) == 1 and not quantities[0][1]:
        return [(quantities[0][0], default_unit.lower())]
    return quantities


def _number(text: str) -> Decimal:
    """A number with a decimal point or comma, spaces or marks between thousands, or a fraction."""
    if _TWO_WAYS.fullmatch(text):
        plain = text.replace(",", "")
        point = text.replace(",", ".")
        raise UnitError(
            "“%(text)s” can be read in two ways. Write %(plain)s or %(point)s.",
            text=text,
            plain=plain,
            point=point,
        )
    if _PLAIN.fullmatch(text):
        return Decimal(text.replace(",", "."))
    if thousands := _THOUSANDS.fullmatch(text):
        return Decimal(thousands["whole"].replace(thousands["mark"], "") + "." + (thousands["part"] or "0"))
    if fraction := _FRACTION.fullmatch(text):
        return Decimal(fraction["whole"] or 0) + Decimal(fraction["over"]) / Decimal(fraction["under"])
    raise UnitError("“%(text)s” is not a number. Write it like 1268 or 2.5.", text=text)


def _unit_name(unit: str, base: str) -> str:
    """The registry's name of the unit; UnitError when it is unknown or measures something else."""
    wanted, names = _DIMENSIONS[base]
    if unit in names:
        return names[unit]
    if not unit:
        raise UnitError("Say the unit of each figure.")
    for found, others in _DIMENSIONS.values():
        if unit in others:
            raise UnitError(
                "“%(unit)s” is %(found)s; %(wanted)s is needed here.", unit=unit, found=found, wanted=wanted
            )
    raise UnitError("“%(unit)s” is not a unit known here; %(wanted)s is needed.", unit=unit, wanted=wanted)


@cache
def _registry() -> UnitRegistry[Decimal]:
    """Made on first use: loading the definitions takes a good second."""
    from pint import UnitRegistry

    return UnitRegistry(non_int_type=Decimal)


@cache
def _factor(name: str, base: str) -> Decimal:
    """How many of the base unit make one of this unit."""
    return Decimal(_registry().Quantity(Decimal(1), name).to(base).magnitude)


def _tidy(value: Decimal) -> Decimal:
    """Without the dust of division, and without trailing zeros or exponents."""
    value = value.quantize(_DUST, ROUND_HALF_UP).normalize()
    return value.quantize(Decimal(1)) if int(value.as_tuple().exponent) > 0 else value
