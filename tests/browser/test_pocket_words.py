"""What the phone reads and writes without the server's help: the same as the server would."""

from __future__ import annotations

import random
from dataclasses import asdict
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.template import Context
from django.templatetags.static import static
from playwright.sync_api import Page

from batches.forms.fields import TemperatureField
from batches.templatetags.bench import grams, off_plan
from inventory.amounts import pieces
from inventory.models import Kind, Material
from shared import safety_strip
from shared.units import format_stock
from soapshop.core.fields import WeightField
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import number, percent, trimmed

pytestmark = pytest.mark.browser

WEIGHTS = [
    *("500", "0.5", ",5", "1.5 kg", "1,5 kg", "1 268 g", "1 268 g", "1,268", "1,268.5", "1.268,5", "12,5 oz"),
    *(
        "2 lb 3 oz",
        "2 lb and 3 oz",
        "½ oz",
        "2½ lb",
        "1 1/2 oz",
        "3/4",
        "3/0",
        "250 mg",
        "2lb3oz",
        "1 000 000",
    ),
    *(
        "1000001",
        "",
        "   ",
        "0",
        "0.004",
        "0.006",
        "-5",
        "−5",
        "NaN",
        "inf",
        "1e5",
        "3 tsp",
        "5 cm",
        "🧼",
        "g",
    ),
    *(
        "12 stone",
        "1 2 g",
        "1.2.3",
        "1_000",
        "5 g 3",
        "9" * 41,
        "3 kilos",
        "two",
        "1 kg.",
        "10 G",
        "7 constructor",
    ),
]
TEMPERATURES = [
    "40",
    "40 °C",
    "104 F",
    "-5",
    "−5 c",
    "100,5",
    "hot",
    "",
    "1 2",
    "40 g",
    "99 °f",
    "12 °C 3 °C",
]
STEPS = ["1", "0.1", "0.01", "5", "0.5", "28.35"]


def on_the_phone(page: Page, module: str, code: str, argument: Any) -> Any:
    """What a function makes of an argument, `it` being a module of the pocket bench."""
    source = static(f"soapshop/js/pocket/{module}.js")
    return page.evaluate(
        "async ([source, argument]) => { const it = await import(source); return (" + code + ")(argument) }",
        [source, argument],
    )


@pytest.mark.parametrize("unit", ["g", "oz"])
def test_weights_are_read_as_on_the_server(phone, unit):
    read = reading("parseWeight")

    assert on_the_phone(phone, "quantity", read, [WEIGHTS, unit]) == [
        hundredths(text, unit) for text in WEIGHTS
    ]


def reading(function: str) -> str:
    """Code that reads all texts of a list, nothing where one cannot be read."""
    return (
        "([texts, unit]) => texts.map((one) => "
        f"{{ try {{ return it.{function}(one, unit) }} catch {{ return null }} }})"
    )


def hundredths(text: str, unit: str) -> int | None:
    try:
        return int(100 * WeightField(default_unit=unit).clean(text))
    except ValidationError:
        return None


@pytest.mark.parametrize(("units", "unit"), [("metric", "°C"), ("us", "°F")])
def test_temperatures_are_read_as_on_the_server(phone, units, unit):
    field = TemperatureField()
    field.default_unit = unit
    read = reading("parseTemperature")

    assert on_the_phone(phone, "quantity", read, [TEMPERATURES, units]) == [
        celsius(field, one) for one in TEMPERATURES
    ]


def celsius(field: TemperatureField, text: str) -> float | None:
    try:
        return round(float(field.clean(text)), 1)
    except ValidationError:
        return None


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_weights_are_written_as_on_the_server(phone, units, step):
    chance = random.Random(7)
    workshop = Workshop(units=units, scale_step=Decimal(step))
    weights = [1, 10, 100, 99_999, 100_000, 126_800, 123_456_789]
    weights += [round(10 ** chance.uniform(0, 8)) for _ in range(200)]
    written = on_the_phone(
        phone,
        "words",
        "([weights, pack]) => weights.map((one) =>"
        " [it.weight(one, pack), it.difference(-one, pack), it.stockWeight(one, pack)])",
        [weights, {"units": units, "scale_step": step}],
    )

    exact = [Decimal(weight) / 100 for weight in weights]
    context, fat = Context({"workshop": workshop}), Material(kind=Kind.FAT)
    assert written == [
        [grams(one, workshop), off_plan(context, -one, fat), format_stock(one, units=units)] for one in exact
    ]


def test_pieces_are_written_as_on_the_server(phone):
    counts = [0, 50, 100, 150, 200, 1_000, 120_000, 123_456_700]
    code = "all => all.map((one) => it.amount(one, {counted: true}, {}))"

    assert on_the_phone(phone, "words", code, counts) == [pieces(Decimal(one) / 100) for one in counts]


def test_pieces_are_read_whole(phone):
    code = """all => all.map((text) => {
      try { return it.parsePieces(text) } catch (error) { return error.name }
    })"""
    typed = ["12", " 7 ", "0", "-3", "1.5", "a dozen", "", "🧼", "1000000", "12 g"]

    assert on_the_phone(phone, "quantity", code, typed) == [1200, 700, *["Error"] * 8]


def test_figures_are_written_as_on_the_server(phone):
    figures = [0, -0.04, 0.05, 2.25, -3.14159, 1234.5, 99.95, 5, 5.5, 1e6]
    code = "all => all.map((one) => [it.number(one, 1), it.percent(one), it.trimmed(one)])"

    assert on_the_phone(phone, "words", code, figures) == [
        [number(one, 1), percent(one, 1), trimmed(one)] for one in figures
    ]


def test_the_picture_of_a_safety_range_is_drawn_as_on_the_server(phone):
    chance = random.Random(11)
    ends = ("worst_low", "likely_low", "likely_high", "worst_high")
    ranges = [
        dict(zip(ends, sorted(chance.uniform(-30, reach) for _ in ends), strict=True))
        for reach in (8, 50)
        for _ in range(2_000)
    ]
    aims = [chance.choice([5, 0, 8.5, chance.uniform(-6, 31)]) for _ in ranges]
    code = "all => all.map(([safety, aim]) => it.layOut(safety, aim))"
    drawn = on_the_phone(phone, "strip", code, list(zip(ranges, aims, strict=True)))

    expected = [asdict(safety_strip.lay_out(**each, aim=aim)) for each, aim in zip(ranges, aims, strict=True)]
    assert drawn == [{**strip, "ticks": list(strip["ticks"])} for strip in expected]
