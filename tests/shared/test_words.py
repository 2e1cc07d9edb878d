"""Sentences that are English and can become another language."""

from shared.words import Phrase


def test_a_phrase_reads_as_its_sentence():
    assert Phrase("A lye of %(share)s %%.", share="33.0") == "A lye of 33.0 %."


def test_without_figures_a_sign_of_per_cent_stands_for_itself():
    assert Phrase("Between 0 and 100 %.") == "Between 0 and 100 %."


def test_it_still_knows_the_sentence_and_the_figures():
    weight = Phrase("a weight")
    phrase = Phrase("“%(unit)s” is %(found)s.", unit="kg", found=weight)

    assert phrase == "“kg” is a weight."
    assert phrase.pattern == "“%(unit)s” is %(found)s."
    assert phrase.figures == {"unit": "kg", "found": weight}
