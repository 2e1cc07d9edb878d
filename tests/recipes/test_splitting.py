"""A batter split into jugs, worked by hand."""

from decimal import Decimal

import pytest

from inventory.models import Kind, Material
from recipes.errors import DesignError
from recipes.models import AmountBy, Destination
from recipes.portions import PortionDesign
from recipes.splitting import Bucket, Split, split
from shared.scaling import Scale
from tests.factories import into, part, portion
from tests.recipes.unsaved import soap, stuff

GRAM = Scale(Decimal(1))
HUNDREDTH = Scale(Decimal("0.01"))
# 5 kg of batter, 65 % of it fats, 1 g/mL, in a mould of 250 x 80 mm.
FIVE_KG = Bucket(batter=5000, fats_share=65, density=1.0, area_mm2=20_000)


def jugs(
    *portions: PortionDesign, scents: tuple[object, ...] = (), bucket: Bucket = FIVE_KG, scale: Scale = GRAM
) -> Split:
    return split(soap(*scents, portions=portions), bucket, scale)


def batter(done: Split) -> dict[str, Decimal]:
    return {jug.design.name: jug.batter for jug in done.jugs}


def stirred(done: Split, material: Material) -> dict[str, Decimal]:
    return {
        jug.design.name: one.grams for jug in done.jugs for one in jug.goes_in if one.material == material
    }


def refusal(*portions: PortionDesign, bucket: Bucket = FIVE_KG) -> DesignError:
    with pytest.raises(DesignError) as caught:
        jugs(*portions, bucket=bucket)
    return caught.value


def test_three_per_cent_of_the_fats_go_by_the_fats_of_the_part_that_carries_them():
    """A fifth of 5 kg without fragrance; in the other 4 kg are 2600 g of fats, 3 % of which are 78 g.

    That a fragrance goes by the fats of what it scents is common practice, no source.
    """
    scent = stuff(fragrance=True)
    white, rose = portion("White", share=20, fragrance=Decimal(0)), portion("Rose")

    done = jugs(white, rose, scents=(part(3, scent),))

    assert batter(done) == {"White": 1000, "Rose": 4000}
    assert stirred(done, scent) == {"Rose": 78}
    assert [jug.grams for jug in done.jugs] == [1000, 4078]
    assert done.totals() == {scent: 78}


def test_a_portion_has_its_own_share_of_fragrance():
    """1.5 % of 650 g are 9.75 g, 3 % of 2600 g are 78 g."""
    scent = stuff(fragrance=True)

    done = jugs(
        portion("Faint", share=20, fragrance=Decimal("1.5")),
        portion("Rose"),
        scents=(part(3, scent),),
        scale=HUNDREDTH,
    )

    assert stirred(done, scent) == {"Faint": Decimal("9.75"), "Rose": 78}


def test_two_fragrances_keep_their_ratio_in_a_portion_with_a_share_of_its_own():
    """2 % and 1 % in the recipe; 1.5 % of the 650 g of fats are 9.75 g, 6.5 g and 3.25 g of it."""
    mint, lime = stuff(fragrance=True), stuff(fragrance=True)

    done = jugs(
        portion("Faint", share=20, fragrance=Decimal("1.5")),
        portion("Strong"),
        scents=(part(2, mint), part(1, lime)),
        scale=HUNDREDTH,
    )

    assert stirred(done, mint) == {"Faint": Decimal("6.5"), "Strong": 52}
    assert stirred(done, lime) == {"Faint": Decimal("3.25"), "Strong": 26}


def test_a_spoon_is_five_millilitres_by_its_density_to_each_kilogram_of_fats():
    """2 teaspoons of 0.8 g/mL are 8 g; to 2.6 kg of fats 20.8 g."""
    clay = stuff(colour_=True, density=Decimal("0.8"))

    done = jugs(portion("White", share=20), portion("Pink", into(2, clay, AmountBy.SPOONS)), scale=HUNDREDTH)

    assert stirred(done, clay) == {"Pink": Decimal("20.8")}


def test_a_share_of_the_portion_goes_by_its_weight():
    clay = stuff(colour_=True)

    done = jugs(portion("White", share=20), portion("Pink", into(1, clay, AmountBy.WEIGHT)))

    assert stirred(done, clay) == {"Pink": 40}


def test_a_layer_is_its_height_times_the_area_times_the_density():
    """15 mm x 20,000 mm2 are 300 mL; at 1.04 g/mL 312 g."""
    bucket = Bucket(batter=1300, fats_share=65, density=1.04, area_mm2=20_000)

    done = jugs(portion("Foot", layer=15), portion("Head"), bucket=bucket)

    assert batter(done) == {"Foot": 312, "Head": 988}
    assert done.jugs[0].measured.height_mm == pytest.approx(15)


def test_the_rest_is_what_shares_weights_and_layers_leave():
    """20 % are 1000 g, 10 mm of the mould 200 g, 450 g are given: 3350 g are left."""
    done = jugs(
        portion("Share", share=20), portion("Layer", layer=10), portion("Weight", grams=450), portion("Rest")
    )

    assert batter(done)["Rest"] == 3350


def test_a_portion_in_grams_grows_with_the_batch_and_a_layer_stays_as_high():
    """Of a batch twice as large: two moulds."""
    once = Bucket(batter=2500, fats_share=65, density=1.0, area_mm2=20_000)
    twice = Bucket(batter=5000, fats_share=65, density=1.0, area_mm2=40_000, scale=2)
    portions = portion("Weight", grams=450), portion("Layer", layer=10), portion("Rest")

    small, large = jugs(*portions, bucket=once), jugs(*portions, bucket=twice)

    assert batter(large) == {name: 2 * grams for name, grams in batter(small).items()}
    assert large.jugs[1].measured.height_mm == small.jugs[1].measured.height_mm


def test_what_goes_into_several_jugs_is_added_up():
    clay, scent = stuff(colour_=True), stuff(fragrance=True)

    done = jugs(
        portion("Pale", into(1, clay, AmountBy.WEIGHT), share=20),
        portion("Deep", into(2, clay, AmountBy.WEIGHT)),
        scents=(part(3, scent),),
    )

    assert done.totals() == {scent: 20 + 78, clay: 10 + 80}


def test_only_what_goes_into_the_mould_counts_for_it():
    clay = stuff(colour_=True)

    done = jugs(
        portion("Kept", share=10, destination=Destination.KEPT),
        portion("Cups", share=30, destination=Destination.OTHER),
        portion("Loaf", into(1, clay, AmountBy.WEIGHT)),
    )

    assert done.moulded == 3000 + 30
    assert [jug.in_mould for jug in done.jugs] == [False, False, True]


def test_jugs_stand_in_the_order_of_pouring_and_tell_apart_what_goes_in():
    scent, clay = stuff(fragrance=True), stuff(colour_=True)

    done = jugs(portion("First"), portion("Second", into(1, clay), share=20), scents=(part(3, scent),))

    assert [jug.design.name for jug in done.jugs] == ["First", "Second"]
    assert [one.material for one in done.jugs[1].of(Kind.COLOUR)] == [clay]
    assert [one.material for one in done.jugs[1].of(Kind.FRAGRANCE)] == [scent]


def test_the_jugs_add_up_to_the_batter_where_thirds_cannot():
    done = jugs(portion("A", share="33.3"), portion("B", share="33.3"), portion("C"))

    assert sum(batter(done).values()) == done.batter == 5000


@pytest.mark.parametrize(
    ("portions", "field", "at_fault"),
    [
        ((portion("White", share=60), portion("Pink", share=50)), "size", "White"),
        ((portion("White", grams=5001), portion("Pink")), "size", "Pink"),
        ((portion("White"), portion("Pink")), "size", "White"),
        ((portion("White", share=-1), portion("Pink")), "size", "White"),
        ((portion("White", grams="NaN"), portion("Pink")), "size", "White"),
        ((portion("White", layer=2001), portion("Pink")), "size", "White"),
        ((portion("Pink", share=50), portion("Pink")), "name", "Pink"),
        ((portion(" "),), "name", " "),
        ((portion("White", layer=10, destination=Destination.KEPT), portion("Pink")), "size", "White"),
    ],
)
def test_what_cannot_be_split_is_refused_beside_its_field_and_portion(
    portions: tuple[PortionDesign, ...], field: str, at_fault: str
):
    error = refusal(*portions)

    assert (error.field, error.portion) == (field, at_fault)
    assert error.message


def test_a_layer_without_a_mould_is_refused():
    bucket = Bucket(batter=5000, fats_share=65, density=1.0, area_mm2=None)

    error = refusal(portion("Foot", layer=15), portion("Head"), bucket=bucket)

    assert (error.field, error.portion) == ("size", "Foot")
    assert "Foot is a layer" in error.message


def test_more_spoons_than_fats_are_refused():
    """200 teaspoons of 1.2 g/mL to a kilogram are 1.2 kg."""
    clay = stuff(colour_=True, density=Decimal("1.2"))

    error = refusal(portion("Pink", into(200, clay, AmountBy.SPOONS)))

    assert (error.field, error.portion) == ("additions", "Pink")
