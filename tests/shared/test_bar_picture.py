"""What a cut bar shows, kept and read again."""

import json

from shared.bar_picture import BarPicture
from shared.cross_section import Embed, Layer, Technique, Topping

PLAIN = BarPicture((Layer("#e8dcc8", 1.0),))
RICH = BarPicture(
    layers=(
        Layer("#e8dcc8", 600.0, "Base"),
        Layer("#a4472a", 250.0, "Brick", Technique.DROP),
        Layer("#6d7987", 150.0, "Slate", Technique.TOP),
    ),
    embeds=(Embed("#c9a227", 2, "Stars"),),
    toppings=(Topping("#8a5a83", "Petals"),),
    width=80.0,
    height=62.5,
)


def test_a_picture_reads_back_from_json_as_it_was_written() -> None:
    for picture in (PLAIN, RICH):
        assert BarPicture.from_json(json.loads(json.dumps(picture.to_json()))) == picture


def test_what_is_read_back_is_poured_as_it_was_meant() -> None:
    read = BarPicture.from_json(json.loads(json.dumps(RICH.to_json())))
    assert [layer.technique for layer in read.layers] == [Technique.LAYER, Technique.DROP, Technique.TOP]
    assert read.layers[1].technique.is_swirl


def test_a_turned_picture_has_the_other_colours_and_nothing_else_changed() -> None:
    turned = RICH.turned({"Brick": "#55301c", "Nobody": "#000000"})

    assert [layer.colour for layer in turned.layers] == ["#e8dcc8", "#55301c", "#6d7987"]
    assert turned.turned({"Brick": "#a4472a"}) == RICH


def test_a_bar_without_portions_is_turned_by_no_name() -> None:
    assert PLAIN.turned({"": "#c8a878"}).layers[0].colour == "#c8a878"
