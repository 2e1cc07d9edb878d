"""What a bar of a design will look like, cut across."""

from decimal import Decimal

import pytest

from recipes.design import Design, Mould
from recipes.formulation import work_out
from recipes.models import NATURAL, Destination, Shape
from recipes.models import Mould as KeptMould
from recipes.picture import UNCOLOURED, picture_of
from shared.bar_picture import BarPicture
from shared.cross_section import Embed, Layer, Technique, Topping, draw
from soapshop.core.models import Workshop
from tests.factories import into, part, portion
from tests.recipes.unsaved import soap, stuff

LOAF = Mould(Decimal(250), Decimal(80), Decimal(60))


def picture(what: Design, bar_colour: str = "#e0d0b0") -> BarPicture:
    return picture_of(work_out(what, workshop=Workshop()), bar_colour=bar_colour)


def kept(height: object = None, **said: object) -> Mould:
    mould = KeptMould(name="Bench", **{"shape": Shape.LOAF, "depth": Decimal(70), "liner": Decimal(0)} | said)
    return Mould(None, None, None if height is None else Decimal(height), mould)


def test_a_batter_that_is_not_split_is_one_layer_in_the_colour_of_the_bar():
    assert picture(soap()) == BarPicture((Layer("#e0d0b0", 1.0),))
    assert picture(soap(), "").layers[0].colour == NATURAL


def test_layers_are_what_each_portion_weighs_in_its_colour_and_way_of_pouring():
    clay = into(2, stuff(colour_=True, colour="#a4472a"))
    white = portion("White", share=25, colour="#ffffff")
    brick = portion("Brick", clay, technique=Technique.DROP)

    layers = picture(soap(portions=(white, brick))).layers

    assert [(one.name, one.colour, one.technique) for one in layers] == [
        ("White", "#ffffff", Technique.LAYER),
        ("Brick", "#a4472a", Technique.DROP),
    ]
    assert layers[1].share / layers[0].share == pytest.approx(3, rel=0.02)
    assert draw(layers)


def test_only_what_goes_into_this_mould_is_seen():
    elsewhere = portion("Cups", share=25, destination=Destination.OTHER)

    assert [one.name for one in picture(soap(portions=(elsewhere, portion("Loaf")))).layers] == ["Loaf"]


def test_a_batter_that_goes_elsewhere_altogether_is_seen_as_a_plain_bar():
    elsewhere = portion("Cups", destination=Destination.OTHER)

    assert picture(soap(portions=(elsewhere,))).layers == (Layer("#e0d0b0", 1.0),)


def test_embeds_and_toppings_are_seen_in_their_colours():
    seen = picture(
        soap(
            part(2, stuff(embed=True, name="Stars")),
            part("1.5", stuff(topping=True, name="Petals")),
            part(1, stuff(topping=True, name="Salt", colour="")),
        )
    )

    assert seen.embeds == (Embed("#c9a227", 2, "Stars"),)
    assert seen.toppings == (Topping("#8a5a83", "Petals"), Topping(UNCOLOURED, "Salt"))


def test_the_face_is_as_wide_as_the_mould_and_as_high_as_it_is_filled():
    seen = picture(soap(mould=LOAF))

    assert (seen.width, seen.height) == (80, 60)


def test_the_liner_takes_from_the_width_of_the_face():
    loaf = kept(60, length=Decimal(250), width=Decimal(80), liner=Decimal(2))
    tube = kept(60, shape=Shape.TUBE, diameter=Decimal(75), liner=Decimal(2))

    assert (picture(soap(mould=loaf)).width, picture(soap(mould=tube)).width) == (76, 71)


@pytest.mark.parametrize("shape", [Shape.CAVITIES, Shape.OTHER])
def test_bars_that_are_not_cut_have_no_known_width(shape: Shape):
    assert picture(soap(mould=kept(60, shape=shape, cavities=6, millilitres=Decimal(100)))).width is None


def test_without_a_fill_height_the_face_is_as_high_as_the_batter_stands():
    what = soap(mould=kept(length=Decimal(250), width=Decimal(80)))
    card = work_out(what, workshop=Workshop())

    seen = picture_of(card, bar_colour="")

    assert seen.height == pytest.approx(float(card.batter_grams) / card.density.mean / 20, abs=0.06)


def test_what_is_kept_back_does_not_make_the_face_higher():
    loaf = kept(length=Decimal(250), width=Decimal(80))
    half = portion("Kept", share=50, destination=Destination.KEPT)

    all_of_it, kept_back = picture(soap(mould=loaf)), picture(soap(mould=loaf, portions=(half, portion("L"))))

    assert kept_back.height == pytest.approx(all_of_it.height / 2, abs=0.2)
