from __future__ import annotations

import uuid
from decimal import Decimal

import pytest
from django import forms
from django.core.exceptions import ValidationError

from soapshop.core.fields import (
    KeyField,
    LengthField,
    NumberField,
    PercentField,
    PhotoField,
    PlainTextField,
    WeightField,
    WholeField,
)
from tests.bad_input import NO_NUMBERS, NO_POSITIVE_NUMBERS, REFUSED_TEXTS, STRANGE_TEXTS
from tests.core.pictures import jpeg, upload


def message(field: forms.Field, text: object) -> str:
    with pytest.raises(ValidationError) as refused:
        field.clean(text)
    return str(refused.value.messages[0])


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("1268", "1268.00"),
        ("1 268", "1268.00"),
        ("1\N{NARROW NO-BREAK SPACE}268 g", "1268.00"),
        ("1.5 kg", "1500.00"),
        ("1,5 kg", "1500.00"),
        (" 0.01 ", "0.01"),
        ("1 lb", "453.59"),
        ("2 lb 3 oz", "992.23"),
    ],
)
def test_a_weight_is_read_as_it_is_spoken_and_gives_grams(text, grams):
    assert WeightField().clean(text) == Decimal(grams)


def test_an_amount_that_was_read_already_stays_as_it_is():
    assert WeightField().clean(Decimal("12.50")) == Decimal("12.50")


def test_a_spoon_is_a_weight_where_the_density_is_known():
    assert WeightField(density=0.9).clean("1 tsp") == Decimal("4.44")
    assert "volume" in message(WeightField(), "1 tsp")


def test_a_bare_figure_has_the_unit_of_the_workshop():
    assert WeightField(default_unit="oz").clean("1") == Decimal("28.35")
    assert WeightField(default_unit="oz").clean("1 g") == Decimal("1.00")


def test_a_length_gives_millimetres():
    assert LengthField().clean("25 cm") == Decimal("250.0")
    assert LengthField().clean("10 in") == Decimal("254.0")
    assert "mm at most" in message(LengthField(), "3 m")


@pytest.mark.parametrize("field", [WeightField(), LengthField()], ids=["weight", "length"])
@pytest.mark.parametrize("text", [*NO_POSITIVE_NUMBERS, "0", "0.000001", "-0"])
def test_a_measure_that_makes_no_sense_is_refused_in_words(field, text):
    assert message(field, text).strip()


def test_too_much_is_told_with_the_limit():
    assert message(WeightField(max_grams=5000), "5.1 kg") == "This may be 5000 g at most."
    assert WeightField(max_grams=5000).clean("5 kg") == 5000


def test_nothing_may_be_weighed_only_where_it_may():
    assert WeightField(allow_zero=True).clean("0") == 0
    assert "more than nothing" in message(WeightField(), "0")
    assert "more than nothing" in message(WeightField(), "0.004")


def test_an_empty_measure_is_none_where_it_may_be_left_out():
    assert WeightField(required=False).clean("") is None
    assert WeightField(required=False).clean("   ") is None
    assert message(WeightField(), "") == "Please fill this in."


@pytest.mark.parametrize(
    ("stored", "shown"), [("1500.00", "1500"), ("0.50", "0.5"), ("1000000.00", "1000000")]
)
@pytest.mark.parametrize("kind", [WeightField, lambda: NumberField(min=0, max=10**7)])
def test_a_stored_amount_is_shown_without_the_zeros_of_its_column(kind, stored, shown):
    class Form(forms.Form):
        amount = kind()

    assert f'value="{shown}"' in str(Form(initial={"amount": Decimal(stored)})["amount"])


@pytest.mark.parametrize("text", ["12 parsecs", "<script>alert(1)</script>", "12"])
def test_what_was_typed_is_shown_again(text):
    class Form(forms.Form):
        amount = WeightField(max_grams=1)

    assert Form({"amount": text})["amount"].value() == text


@pytest.mark.parametrize(
    ("text", "value"),
    [("5", "5"), ("0,5", "0.5"), (" 1 000 ", "1000"), ("\N{MINUS SIGN}2", "-2"), ("1e2", "100")],
)
def test_a_number_is_read_however_it_is_written(text, value):
    assert NumberField(min=-10, max=1000).clean(text) == Decimal(value)


def test_what_is_wrong_with_a_number_is_said_in_plain_words():
    field = NumberField(min=Decimal("0.5"), max=30)
    typed = ["", "twelve", "0.1", "31", "1.234"]

    assert [message(field, text) for text in typed] == [
        "Please fill this in.",
        "This is not a number.",
        "At least 0.5.",
        "At most 30.",
        "At most 2 figures after the point.",
    ]


@pytest.mark.parametrize("text", [*NO_NUMBERS, "0", "31", "1.5", "1,5"])
def test_a_whole_number_outside_its_bounds_or_with_a_part_is_refused(text):
    assert message(WholeField(min_value=1, max_value=30), text).strip()


def test_a_whole_number_is_an_int():
    assert WholeField(min_value=1, max_value=30).clean(" 28 ") == 28


@pytest.mark.parametrize("text", [*NO_NUMBERS, "-6", "31", "1.234"])
def test_a_number_outside_its_bounds_is_refused(text):
    assert message(NumberField(min=-5, max=30), text).strip()


def test_a_share_may_carry_its_sign():
    assert PercentField().clean("2,5 %") == Decimal("2.5")
    assert PercentField(min=-5, max=30).clean("-5%") == Decimal(-5)
    assert "100" in message(PercentField(), "100.5")
    assert message(PercentField(), "%").strip()
    assert message(PercentField(), "5 % %").strip()


def test_a_key_is_made_with_each_form_and_kept_when_it_is_shown_again():
    class Form(forms.Form):
        key = KeyField()

    first, second = Form()["key"].value(), Form()["key"].value()
    posted = str(uuid.uuid4())

    assert first != second
    assert f'value="{posted}"' in str(Form({"key": posted})["key"])
    assert Form({"key": posted})["key"].field.clean(posted) == uuid.UUID(posted)


@pytest.mark.parametrize("text", ["1", "\0", "<script>", "x" * 10_000])
def test_a_key_that_is_none_is_refused(text):
    assert "send it again" in message(KeyField(), text)


@pytest.mark.parametrize("text", REFUSED_TEXTS)
def test_words_that_no_database_keeps_are_refused(text):
    assert message(PlainTextField(max_length=80), text).strip()


@pytest.mark.parametrize("text", STRANGE_TEXTS)
def test_strange_words_are_words(text):
    assert PlainTextField(max_length=80).clean(f"  {text} ") == text


def test_long_words_have_room():
    assert 'rows="4"' in str(PlainTextField(max_length=80, lines=4).widget.render("note", ""))


def test_a_photo_field_takes_a_file_or_nothing():
    assert PhotoField(required=False).clean(None) is None
    assert PhotoField().clean(upload(jpeg())).name == "IMG_0001.jpg"
    assert message(PhotoField(), None) == "Choose a picture."
    assert message(PhotoField(), upload(b"")).strip()
