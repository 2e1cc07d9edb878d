"""What the drawing of a bar shows can be read, too."""

import pytest

from shared.cross_section import Embed, Layer, Technique, Topping, describe
from shared.words import Phrase

FOG = [Layer("#6d7987", 28, "Deep"), Layer("#a9b9c1", 34, "Middle"), Layer("#f1efe4", 38, "Crest")]


def test_words_name_the_layers_from_the_bottom_up() -> None:
    assert describe(FOG) == "Cross-section from the bottom up: Deep 28 %, Middle 34 %, Crest 38 %"
    assert describe([Layer("#ffffff", 1), Layer("#000000", 3)]).endswith("unnamed 25 %, unnamed 75 %")


def test_one_layer_is_called_by_its_name() -> None:
    assert describe([Layer("#ffffff", 1, "Olive")]) == "Cross-section: Olive"
    assert describe([Layer("#ffffff", 1)]) == "Cross-section: one layer"


def test_swirls_are_told_with_what_they_go_into() -> None:
    layers = [
        Layer("#3b2a2a", 45, "dark"),
        Layer("#f4ede0", 35, "white"),
        Layer("#c9697a", 12, "rose", Technique.DROP),
        Layer("#4d8c86", 8, "sea", Technique.HANGER),
    ]
    assert describe(layers) == (
        "Cross-section from the bottom up: "
        "dark 45 %, white 35 % with rose 12 % as drop swirl and sea 8 % as hanger swirl"
    )


def test_one_band_needs_no_bottom_and_top() -> None:
    layers = [Layer("#f4ede0", 4, "white"), Layer("#4d8c86", 1, "sea", Technique.POT)]
    assert describe(layers) == "Cross-section: white 80 % with sea 20 % as in-the-pot swirl"


def test_a_textured_top_is_told() -> None:
    assert describe([Layer("#f4ede0", 1, "white", Technique.TOP)]) == "Cross-section: white with textured top"


def test_a_swirl_with_nothing_below_is_a_layer() -> None:
    layers = [Layer("#4d8c86", 1, "sea", Technique.POT), Layer("#f4ede0", 1, "white")]
    assert describe(layers) == "Cross-section from the bottom up: sea 50 %, white 50 %"


def test_what_lies_on_top_comes_last() -> None:
    said = describe(
        [Layer("#f4ede0", 1, "white")],
        [Embed("#c9a227", 3, "gold"), Embed("#c9697a", 1, "rose")],
        [Topping("#ffffff", "salt")],
    )
    assert said == (
        "Cross-section: white; 3 embeds of gold on top; 1 embed of rose on top; sprinkled with salt"
    )


def test_without_a_name_it_is_another_colour() -> None:
    said = describe([Layer("#f4ede0", 1, "white")], [Embed("#c9a227", 2)], [Topping("#ffffff")])
    assert said.endswith("2 embeds of another colour on top; sprinkled with another colour")


def test_a_name_is_no_pattern() -> None:
    assert describe([Layer("#f4ede0", 1, "100 % %(olive)s")]) == "Cross-section: 100 % %(olive)s"


@pytest.mark.parametrize("technique", Technique)
def test_every_technique_can_be_named_in_any_language(technique: Technique) -> None:
    assert isinstance(technique.label, Phrase)
    assert technique.label
