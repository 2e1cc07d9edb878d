"""How large a batch is whose batter is split: what comes out is what was asked for."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.models import Material
from recipes.design import Design, Mould
from recipes.errors import DesignError
from recipes.formulation import Size, WorkedOut, work_out
from recipes.models import AmountBy, Destination, SizeBy, Stage
from recipes.portions import PortionDesign
from soapshop.core.models import Workshop
from tests.factories import into, part, portion
from tests.recipes.unsaved import soap, stuff

FINE = Workshop(scale_step=Decimal("0.01"))
LOAF = Mould(Decimal(250), Decimal(80), Decimal(60))  # 1200 mL
KEPT, CUPS = Destination.KEPT, Destination.OTHER


def worked(what: Design, workshop: Workshop = FINE, **more: object) -> WorkedOut:
    return work_out(what, workshop=workshop, **more)


def swirled(*portions: PortionDesign, **changed: object) -> Design:
    """Scented soap with one clay of which white has none."""
    clay = into(2, stuff(colour_=True, name="Clay"))
    white = portion("White", share=30, fragrance=Decimal(0))
    return soap(
        part(3, stuff(fragrance=True, name="Scent")),
        portions=portions or (white, portion("Brick", clay)),
        **changed,
    )


def pot(card: WorkedOut) -> Decimal:
    """Grams of batter before anything goes into portions."""
    return sum(line.grams for line in card.pot_lines if line.part.stage != Stage.JUG)


def material_of(what: Design, name: str) -> Material:
    return next(one for one in what.materials if one.name == name)


def in_mould_ml(card: WorkedOut) -> float:
    return float(card.split.moulded) / card.density.mean


def test_by_the_fats():
    card = worked(swirled())

    assert card.fat_grams == 1000
    assert card.split.batter == pot(card)


def test_by_the_weight_of_batter_with_all_that_is_stirred_in():
    card = worked(swirled(size_by=SizeBy.BATTER, size_grams=Decimal(3000)))

    assert float(card.batter_grams) == pytest.approx(3000, abs=0.2)
    assert float(sum(jug.grams for jug in card.split.jugs)) == pytest.approx(3000, abs=0.2)


def test_by_the_mould_with_all_that_is_stirred_in():
    card = worked(swirled(size_by=SizeBy.MOULD, size_grams=None, mould=LOAF))

    assert in_mould_ml(card) == pytest.approx(1200, abs=0.2)


def test_what_is_kept_back_or_poured_elsewhere_does_not_count_for_the_mould():
    """A quarter kept back and a quarter in cups: half of it fills the mould."""
    portions = (
        portion("Kept", share=25, destination=KEPT),
        portion("Cups", share=25, destination=CUPS),
        portion("Loaf"),
    )

    card = worked(swirled(*portions, size_by=SizeBy.MOULD, size_grams=None, mould=LOAF))

    assert in_mould_ml(card) == pytest.approx(1200, abs=0.2)
    assert float(card.split.jugs[2].batter / card.split.batter) == pytest.approx(0.5)


@pytest.mark.parametrize("kept", [50, 600, 1100, 1200, 1300, 5000])
def test_more_may_be_kept_back_by_weight_than_the_mould_holds(kept: int):
    portions = portion("Kept", grams=kept, destination=KEPT), portion("Loaf")

    card = worked(swirled(*portions, size_by=SizeBy.MOULD, size_grams=None, mould=LOAF))

    assert card.split.jugs[0].batter == kept
    assert in_mould_ml(card) == pytest.approx(1200, abs=0.2)


@pytest.mark.parametrize(
    "portions",
    [
        (portion("Cups", destination=CUPS),),
        (portion("Foot", layer=40), portion("Cups", destination=CUPS)),
    ],
)
def test_a_mould_that_nothing_more_goes_into_cannot_be_filled(portions: tuple[PortionDesign, ...]):
    with pytest.raises(DesignError) as caught:
        worked(swirled(*portions, size_by=SizeBy.MOULD, size_grams=None, mould=LOAF))

    assert caught.value.field == "portions"


def test_by_what_the_portions_say():
    portions = portion("White", grams=600), portion("Foot", layer=15), portion("Pink", share=40)
    card = worked(swirled(*portions, size_by=SizeBy.PORTIONS, size_grams=None, mould=LOAF))

    white, foot, pink = (float(jug.batter) for jug in card.split.jugs)

    assert white == 600
    assert foot == pytest.approx(300 * card.density.mean, abs=0.02)
    assert pink == pytest.approx((600 + foot) / 0.6 * 0.4, abs=0.02)
    assert float(pot(card)) == pytest.approx(white + foot + pink, abs=0.2)


@pytest.mark.parametrize("white", range(301, 331))
def test_what_the_scale_rounds_does_not_stand_in_the_way_of_what_the_portions_say(white: int):
    """Ten additives, lye and liquid, each rounded to 5 g, may come to more than a step of the scale."""
    portions = portion("White", grams=white), portion("Pink", grams=500)
    additives = [part("0.8", stuff(additive=True)) for _ in range(10)]
    what = soap(*additives, portions=portions, size_by=SizeBy.PORTIONS, size_grams=None)

    card = worked(what, Workshop(scale_step=Decimal(5)))

    assert float(card.split.batter) == pytest.approx(white + 500, abs=5)
    assert float(pot(card)) == pytest.approx(white + 500, abs=40)


def test_portions_that_say_nothing_of_the_size_are_refused():
    with pytest.raises(DesignError) as caught:
        worked(swirled(size_by=SizeBy.PORTIONS, size_grams=None))

    assert "known" in caught.value.message


def test_by_bars_everything_is_multiplied():
    portions = portion("White", grams=400), portion("Foot", layer=15), portion("Pink")
    what = swirled(*portions, mould=LOAF)

    once, twice = worked(what), worked(what, size=Size(bars=20))

    assert twice.bars == 20
    assert twice.split.jugs[0].batter == 800
    for small, large in zip(once.split.jugs, twice.split.jugs, strict=True):
        assert float(large.grams) == pytest.approx(2 * float(small.grams), abs=0.1)


@pytest.mark.parametrize("size_by", [SizeBy.FATS, SizeBy.MOULD, SizeBy.PORTIONS])
def test_portions_in_grams_grow_with_the_batch(size_by: SizeBy):
    portions = (portion("White", grams=400), portion("Pink", share=60))
    if size_by != SizeBy.PORTIONS:
        portions = (portion("White", grams=400), portion("Pink"))
    what = swirled(
        *portions, size_by=size_by, size_grams=Decimal(1000) if size_by == SizeBy.FATS else None, mould=LOAF
    )
    own = worked(what)

    card = worked(what, size=Size(batter=own.batter_grams * Decimal("2.5")))

    assert float(card.batter_grams) == pytest.approx(2.5 * float(own.batter_grams), abs=0.3)
    assert float(card.split.jugs[0].batter) == pytest.approx(1000, abs=0.3)


def test_a_pour_fills_as_many_millilitres_as_asked_for():
    card = worked(swirled(mould=LOAF), size=Size(millilitres=Decimal(2400)))

    assert in_mould_ml(card) == pytest.approx(2400, abs=0.2)


@pytest.mark.parametrize(("name", "held"), [("Scent", "42.5"), ("Clay", "8.75")])
def test_what_is_to_be_used_up_is_used_up_though_only_some_portions_have_it(name: str, held: str):
    what = swirled()
    material = material_of(what, name)

    card = worked(what, size=Size(use_up=(material.pk,)), on_hand={material.pk: Decimal(held)})

    assert float(card.split.totals()[material]) == pytest.approx(float(held), abs=0.02)


def test_a_pinch_in_one_portion_is_used_up():
    ink = into("0.05", stuff(colour_=True, name="Ink"))
    what = swirled(portion("White", share=90), portion("Inky", ink))
    material = material_of(what, "Ink")

    card = worked(what, size=Size(use_up=(material.pk,)), on_hand={material.pk: Decimal("0.12")})

    assert float(card.split.totals()[material]) == pytest.approx(0.12, abs=0.011)


def test_pieces_and_toppings_follow_the_bars_and_not_the_batter():
    what = swirled()
    embeds, salt = part(2, stuff(embed=True)), part("1.5", stuff(topping=True))

    plain, topped = worked(what), worked(replace(what, parts=(*what.parts, embeds, salt)))

    assert [line.grams for line in topped.lines if line.part.stage == Stage.TOP] == [15, 20]
    assert topped.batter_grams == plain.batter_grams
    assert topped.bar_grams == plain.bar_grams


def test_a_bar_weighs_what_goes_into_this_mould():
    card = worked(swirled(portion("Kept", share=25, destination=KEPT), portion("Loaf")))

    assert card.bar_grams == card.split.moulded / 10
    assert float(card.bar_grams * 10 / card.batter_grams) == pytest.approx(0.75, abs=0.001)


# Any split

SIZES = st.sampled_from([SizeBy.FATS, SizeBy.BATTER, SizeBy.MOULD])
SCENTED = st.one_of(st.none(), st.just(Decimal(0)), st.decimals("0.5", 5, places=1))


@st.composite
def splits(draw: st.DrawFn) -> Design:
    """Up to five portions, in shares, grams and layers, and one that takes the rest in the mould."""
    portions = [portion("Rest", into(draw(st.integers(1, 4)), stuff(colour_=True)))]
    for number in range(draw(st.integers(0, 4))):
        by, most = draw(st.sampled_from([("share", 20), ("grams", 150), ("layer", 8)]))
        place = Destination.MOULD if by == "layer" else draw(st.sampled_from(Destination))
        clay = into(
            draw(st.integers(1, 3)),
            stuff(colour_=True),
            draw(st.sampled_from([AmountBy.FATS, AmountBy.WEIGHT])),
        )
        portions.append(
            portion(
                f"Portion {number}",
                clay,
                fragrance=draw(SCENTED),
                destination=place,
                **{by: draw(st.integers(most // 2, most))},
            )
        )
    size_by = draw(SIZES)
    grams = None if size_by == SizeBy.MOULD else Decimal(draw(st.integers(1500, 4000)))
    order = draw(st.permutations(portions))
    return swirled(*order, size_by=size_by, size_grams=grams, mould=LOAF)


@settings(max_examples=25, deadline=None)
@given(splits(), st.sampled_from([FINE, Workshop()]))
def test_whatever_the_split_the_weights_add_up_and_stand_in_proportion(what: Design, workshop: Workshop):
    card = worked(what, workshop)
    step = workshop.scale_step
    fats_share = float(card.fat_grams / pot(card))

    assert sum(jug.batter for jug in card.split.jugs) == card.split.batter
    assert abs(card.split.batter - pot(card)) <= step / 2
    assert float(sum(jug.grams for jug in card.split.jugs)) == pytest.approx(
        float(card.batter_grams), abs=float(step)
    )
    for jug in card.split.jugs:
        assert jug.batter > 0
        assert jug.batter % step == 0
        by_fats = [one for one in jug.design.additions if one.amount_by == AmountBy.FATS]
        for one in by_fats:
            grams = next(each.grams for each in jug.goes_in if each.material == one.material)
            expected = float(jug.batter) * fats_share * float(one.amount) / 100
            assert float(grams) == pytest.approx(expected, abs=float(step), rel=0.01)


@settings(max_examples=15, deadline=None)
@given(splits())
def test_whatever_the_split_the_size_is_what_was_asked_for(what: Design):
    card = worked(what)

    if what.size_by == SizeBy.FATS:
        assert card.fat_grams == what.size_grams
    elif what.size_by == SizeBy.BATTER:
        assert float(card.batter_grams) == pytest.approx(float(what.size_grams), abs=0.3)
    else:
        assert in_mould_ml(card) == pytest.approx(1200, abs=0.3)
