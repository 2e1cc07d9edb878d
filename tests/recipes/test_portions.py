"""What a design says of its portions, and what makes them impossible."""

from decimal import Decimal

import pytest

from recipes.errors import DesignError
from recipes.models import NATURAL, AmountBy, Destination, PortionBy
from recipes.portions import (
    MOST_ADDITIONS,
    MOST_PORTIONS,
    PortionDesign,
    check_portions,
    says_nothing,
)
from tests.factories import into, portion
from tests.recipes.unsaved import stuff


def refusal(*portions: PortionDesign, recipe: tuple[object, ...] = ()) -> DesignError:
    with pytest.raises(DesignError) as caught:
        check_portions(portions, recipe)
    return caught.value


def test_portions_that_can_be_poured_are_not_refused():
    clay, scent = stuff(colour_=True), stuff(fragrance=True)
    white = portion("White", into(1, clay), share=40, fragrance=Decimal(0))
    kept = portion("Kept", into(3, scent), destination=Destination.KEPT)

    check_portions([white, kept], [stuff(), stuff(naoh=True)])


def test_a_recipe_without_portions_is_not_refused():
    check_portions([], [stuff()])


def test_twelve_portions_are_enough():
    portions = [portion(f"Portion {number}", grams=100) for number in range(MOST_PORTIONS + 1)]

    check_portions(portions[:-1], [])
    error = refusal(*portions)

    assert (error.field, "12" in error.message, "13" in error.message) == ("portions", True, True)


def test_something_must_be_poured():
    kept = portion("Kept", destination=Destination.KEPT)

    assert refusal(kept).field == "portions"
    check_portions([kept, portion("Poured", share=50, destination=Destination.OTHER)], [])


@pytest.mark.parametrize("by", [PortionBy.SHARE, PortionBy.GRAMS, PortionBy.LAYER])
def test_a_portion_that_is_not_the_rest_says_how_much_it_is(by: PortionBy):
    error = refusal(portion("White"), PortionDesign("Pink", size_by=by))

    assert (error.field, error.portion) == ("size", "Pink")
    assert "Pink" in error.message


@pytest.mark.parametrize("share", ["-0.01", "100.01", "NaN", "Infinity"])
def test_the_fragrance_of_a_portion_is_a_share_of_its_fats(share: str):
    error = refusal(portion("White"), portion("Pink", fragrance=Decimal(share)))

    assert (error.field, error.portion) == ("fragrance", "Pink")


@pytest.mark.parametrize("share", [0, 100])
def test_a_portion_may_be_unscented(share: int):
    check_portions([portion("White", fragrance=Decimal(share))], [])


def test_twelve_things_go_into_a_portion_and_no_more():
    things = [into(1, stuff(colour_=True)) for _ in range(MOST_ADDITIONS + 1)]

    check_portions([portion("Pink", *things[:-1])], [])
    error = refusal(portion("Pink", *things))

    assert (error.field, error.portion) == ("additions", "Pink")


@pytest.mark.parametrize("kind", ["naoh", "liquid", "packaging", "embed", "topping"])
def test_what_makes_the_soap_belongs_into_the_recipe(kind: str):
    material = stuff(**{kind: True}, name="Thing")

    error = refusal(portion("Pink", into(1, material)))

    assert (error.field, error.portion, error.material) == ("additions", "Pink", material)
    assert "Thing belongs into the recipe" in error.message


def test_a_fat_belongs_into_the_recipe():
    assert "belongs into the recipe" in refusal(portion("Pink", into(1, stuff()))).message


@pytest.mark.parametrize("takes", [{"acid": "citric"}, {"water": Decimal(40)}])
def test_what_takes_lye_or_brings_water_belongs_into_the_recipe(takes: dict[str, object]):
    material = stuff(additive=True, name="Sour clay", **takes)

    error = refusal(portion("Pink", into(1, material)))

    assert error.material == material
    assert "Sour clay takes lye or brings water" in error.message


def test_what_goes_into_the_whole_batter_does_not_go_into_a_portion_too():
    clay = stuff(colour_=True, name="Clay")

    error = refusal(portion("Pink", into(1, clay)), recipe=(clay,))

    assert (error.material, error.portion) == (clay, "Pink")
    assert "whole batter already" in error.message


def test_a_thing_stands_in_a_portion_once_but_in_as_many_portions_as_one_likes():
    clay = stuff(colour_=True)

    check_portions([portion("Pink", into(1, clay)), portion("Rose", into(2, clay), share=50)], [])

    assert "twice" in refusal(portion("Pink", into(1, clay), into(2, clay))).message


@pytest.mark.parametrize("amount", ["0", "-1", "NaN", "Infinity"])
def test_an_amount_is_above_zero(amount: str):
    error = refusal(portion("Pink", into(amount, stuff(colour_=True))))

    assert (error.field, "above zero" in error.message) == ("additions", True)


def test_a_spoon_needs_a_density():
    clay = stuff(colour_=True, name="Clay")

    error = refusal(portion("Pink", into(1, clay, AmountBy.SPOONS)))

    assert (error.material, "density" in error.message) == (clay, True)
    check_portions([portion("Pink", into(1, stuff(colour_=True, density=1), AmountBy.SPOONS))], [])


# How a portion looks


def test_a_portion_has_the_colour_it_was_given():
    assert portion("Pink", into(1, stuff(colour_=True)), colour="#cc7788").looks("#ffffff") == "#cc7788"


def test_a_portion_without_a_colour_of_its_own_has_that_of_what_colours_it():
    brightener = into(1, stuff(additive=True, colour="#000000"))

    assert portion("Pink", brightener, into(1, stuff(colour_=True))).looks("#ffffff") == "#6d7987"


def test_a_plain_portion_has_the_colour_of_the_bar():
    assert portion("Plain").looks("#e0d0b0") == "#e0d0b0"
    assert portion("Plain").looks("") == NATURAL


def test_one_plain_portion_says_nothing():
    assert says_nothing(portion("All of it"), "")
    assert says_nothing(portion("All of it", colour="#e0d0b0"), "#e0d0b0")


@pytest.mark.parametrize(
    "said",
    [
        {"colour": "#cc7788"},
        {"fragrance": Decimal(0)},
        {"share": 100},
        {"destination": Destination.OTHER},
        {"trace": "light"},
        {"technique": "top"},
    ],
)
def test_one_portion_that_says_something_is_kept(said: dict[str, object]):
    assert not says_nothing(portion("All of it", **said), "#e0d0b0")


def test_one_portion_that_something_goes_into_is_kept():
    assert not says_nothing(portion("All of it", into(1, stuff(additive=True))), "")
