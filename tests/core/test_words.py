"""What the calculations say, in the language of the reader."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import translation

from shared.chemistry import AcidKind, AlkaliKind
from shared.safety import SCALE, Verdict
from shared.units import UnitError, parse_weight
from shared.words import Phrase
from soapshop.core.templatetags.soapshop import money, number, stock_weight, weight, weights
from soapshop.core.words import FIXED, in_words, with_decimal_sign

GERMAN = {
    "safe": "sicher",
    "“%(unit)s” is %(found)s; %(wanted)s is needed here.": (
        "„%(unit)s“ ist %(found)s; hier braucht es %(wanted)s."
    ),
    "a length": "eine Länge",
    "a weight": "ein Gewicht",
}


@pytest.fixture
def german(monkeypatch):
    """German as far as these messages go; its decimal comma is Django's own."""
    monkeypatch.setattr(translation._trans, "gettext", lambda message: GERMAN.get(message, message))
    with translation.override("de"):
        yield


def test_every_fixed_word_of_the_calculations_is_listed():
    said = {*Verdict, SCALE, *(kind.label for kind in (*AlkaliKind, *AcidKind))}

    assert {str(word) for word in said} <= set(FIXED)


def test_english_stays_as_it_is():
    phrase = Phrase("A lye of %(share)s %%.", share=33)

    assert [in_words(words) for words in ("safe", "", phrase, Phrase("100 %"))] == [
        "safe",
        "",
        "A lye of 33 %.",
        "100 %",
    ]


@pytest.mark.usefixtures("german")
def test_words_and_sentences_are_translated_with_the_words_inside_them():
    with pytest.raises(UnitError) as refused:
        parse_weight("5 mm")

    assert in_words("safe") == "sicher"
    assert in_words(refused.value.words) == "„mm“ ist eine Länge; hier braucht es ein Gewicht."


@pytest.mark.usefixtures("german")
def test_what_a_person_typed_is_never_translated():
    assert in_words(Phrase("Not a unit: %(unit)s.", unit="safe")) == "Not a unit: safe."


@pytest.mark.usefixtures("german")
def test_figures_carry_the_decimal_sign_of_the_language():
    assert number(Decimal("1234.5"), 1) == "1\N{NARROW NO-BREAK SPACE}234,5"
    assert (
        weight(Decimal("0.5"), type("Shop", (), {"scale_step": Decimal("0.1")})) == "0,5\N{NO-BREAK SPACE}g"
    )
    assert stock_weight(Decimal(12_345)) == "12,3\N{NO-BREAK SPACE}kg"
    assert money(Decimal("3.5"), "EUR") == "3,50\N{NO-BREAK SPACE}EUR"


def test_in_english_the_decimal_sign_is_a_point():
    assert with_decimal_sign("1.5") == "1.5"


def test_several_weights_stand_one_after_the_other():
    assert weights([Decimal(143), Decimal(50)]) == "143\N{NO-BREAK SPACE}g 50\N{NO-BREAK SPACE}g"
