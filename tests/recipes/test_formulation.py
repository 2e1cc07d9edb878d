"""From a design to a card: weights, sizes, rounding, and what is refused."""

from dataclasses import replace
from decimal import Decimal

import pytest

from inventory.models import Kind
from recipes.design import Design, Mould, design_of
from recipes.errors import DesignError
from recipes.formulation import Size, WorkedOut, to_scale, work_out
from recipes.models import LiquidBy, SizeBy, Version
from shared.chemistry import M_KOH
from shared.saponification import Verdict
from soapshop.core.models import Workshop
from tests.factories import LotFactory, MaterialFactory, VersionFactory, design, part

pytestmark = pytest.mark.django_db

# 450 g olive, 250 g coconut, 250 g palm, 50 g castor; (low, middle, high) mg KOH/g.
FOUR_OILS = [
    ("Olive oil", 45, 184, "190", 196),
    ("Coconut oil", 25, 248, "256.5", 265),
    ("Palm oil", 25, 190, "199.5", 209),
    ("Castor oil", 5, 176, "181.5", 187),
]


def four_oils(**changed: object) -> Design:
    fats = [
        part(share, name=name, sap_low=low, sap_nominal=Decimal(middle), sap_high=high)
        for name, share, low, middle, high in FOUR_OILS
    ]
    lye = part(100, naoh=True, name="Sodium hydroxide")
    return design(*fats, lye, part(100, liquid=True, name="Water"), **changed)


def worked(what: Design, **more: object) -> WorkedOut:
    return work_out(what, workshop=Workshop(), **more)


def grams(card: WorkedOut, name: str) -> Decimal:
    return next(line.grams for line in card.lines if line.material.name == name)


def refusal(what: Design, **more: object) -> DesignError:
    with pytest.raises(DesignError) as caught:
        worked(what, **more)
    return caught.value


def test_four_oils_at_five_per_cent_are_safe_with_143_grams_of_lye():
    card = worked(four_oils())

    assert float(card.formulation.alkalis[0].grams) == pytest.approx(143.4, abs=0.05)
    assert grams(card, "Sodium hydroxide") == 143
    assert grams(card, "Water") == 291
    assert card.safety.verdict == Verdict.SAFE
    assert card.safety.worst_low < 0


@pytest.mark.parametrize(("superfat", "verdict"), [(5, "safe"), (2, "watch"), (0, "stop")])
def test_less_superfat_is_less_safe(superfat: int, verdict: str):
    assert worked(four_oils(superfat=Decimal(superfat))).safety.verdict == verdict


def test_the_safety_range_is_that_of_the_weights_on_the_scale():
    """100 g of fats take 14.3 g of lye; of a scale with steps of 5 g that is 10 g, and much fat is left."""
    coarse = Workshop(scale_step=Decimal(5))

    card = work_out(four_oils(size_grams=Decimal(100)), workshop=coarse)

    assert grams(card, "Sodium hydroxide") == 10
    assert card.safety.nominal == pytest.approx(100 - 95 * 10 / 14.34, abs=0.6)


@pytest.mark.parametrize("size", [437, 1000, 1234, 5005])
def test_what_the_scale_rounds_never_takes_from_the_superfat(size: int):
    """Lye rounded to the nearest gram would leave 4.7 % of these 5 % at one of the sizes."""
    assert worked(four_oils(size_grams=Decimal(size))).safety.nominal >= 5


def test_what_is_weighed_on_the_fine_scale_is_that_much_surer():
    """A trial of 100 g takes 14 g of lye, half a gram of which is 3.5 %; a scale of 0.1 g knows it better."""
    small = four_oils(size_grams=Decimal(100))
    coarse, both = (
        work_out(small, workshop=Workshop(scale_step=Decimal(1), **fine)).safety
        for fine in ({}, {"fine_scale_step": Decimal("0.1"), "fine_scale_up_to": Decimal(200)})
    )

    assert both.likely_high - both.likely_low < 0.8 * (coarse.likely_high - coarse.likely_low)
    assert both.worst_low > coarse.worst_low


def test_lines_stand_in_weighing_order():
    parts = [
        part(1, fragrance=True),
        part(1, packaging=True),
        part(100, naoh=True),
        part(1, additive=True),
        part(100, liquid=True),
        part(1, colour_=True),
        part(100),
    ]

    kinds = [line.kind for line in worked(design(*parts)).lines]

    assert kinds == ["fat", "liquid", "alkali", "additive", "colour", "fragrance", "packaging"]


def test_weights_go_by_the_size_of_the_fats():
    card = worked(four_oils(size_grams=Decimal(2500)))

    assert (grams(card, "Olive oil"), grams(card, "Castor oil"), card.fat_grams) == (1125, 125, 2500)


def test_a_wish_for_batter_is_met_with_all_that_goes_into_the_pot():
    what = four_oils()
    scented = replace(what, parts=(*what.parts, part(3, fragrance=True)))

    card = worked(replace(scented, size_by=SizeBy.BATTER, size_grams=Decimal(3000)))

    assert card.batter_grams == pytest.approx(3000, abs=4)
    assert card.batter_grams == sum(line.grams for line in card.lines)


def test_a_mould_is_filled_by_volume_times_density():
    """200 x 80 x 60 mm hold 960 mL. 1,000 g of fats at 0.91 g/mL with 434 g of lye at 1.36 g/mL take
    1,418 mL, so the batter weighs 1.01 g/mL."""
    what = four_oils(
        size_by=SizeBy.MOULD, size_grams=None, mould=Mould(Decimal(200), Decimal(80), Decimal(60))
    )

    card = worked(what)

    assert float(card.batter_grams) / 960 == pytest.approx(1.01, abs=0.01)


def test_fats_by_weight_need_no_size():
    olive, coconut = MaterialFactory(name="Olive oil"), MaterialFactory(name="Coconut oil")
    parts = (part(600, olive), part(200, coconut), part(100, naoh=True), part(100, liquid=True))

    card = worked(design(*parts, size_by=SizeBy.WEIGHTS, size_grams=None))

    assert (grams(card, "Olive oil"), grams(card, "Coconut oil")) == (600, 200)
    assert [line.share for line in card.of(Kind.FAT)] == [75, 25]


@pytest.mark.parametrize(
    ("wish", "fats", "bars"),
    [(Size(bars=25), 2500, 25), (Size(fats=Decimal(500)), 500, 5), (Size(fats=Decimal(1)), 1, 1)],
)
def test_a_recipe_is_made_larger_or_smaller(wish: Size, fats: int, bars: int):
    fine = Workshop(scale_step=Decimal("0.01"))
    card = work_out(design(liquid_value=Decimal(30)), workshop=fine, size=wish)

    assert (card.fat_grams, card.bars) == (fats, bars)
    assert card.scale == pytest.approx(fats / 1000)


def test_a_recipe_is_made_to_a_weight_of_batter():
    assert worked(four_oils(), size=Size(batter=Decimal(5000))).batter_grams == pytest.approx(5000, abs=4)


def test_additions_go_by_the_share_of_the_fats_and_packaging_by_the_bar():
    wrap, clay = part(2, packaging=True, name="Wrap"), part("1.5", additive=True, name="Clay")
    what = four_oils(bars=12)

    card = worked(replace(what, parts=(*what.parts, wrap, clay)))

    assert (grams(card, "Wrap"), grams(card, "Clay")) == (24, 15)
    assert card.batter_grams == sum(line.grams for line in card.weighed_lines)


def test_packaging_comes_in_whole_pieces():
    what = four_oils(bars=5)

    card = worked(replace(what, parts=(*what.parts, part("0.5", packaging=True, name="Box"))))

    assert grams(card, "Box") == 3


def test_a_pinch_that_the_scale_cannot_show_is_given_in_hundredths():
    what = four_oils()

    card = worked(replace(what, parts=(*what.parts, part("0.04", colour_=True, name="Ink"))))

    ink = card.of(Kind.COLOUR)[0]
    assert (ink.grams, ink.fine) == (Decimal("0.40"), True)


def test_liquids_share_the_liquid():
    what = four_oils()
    kept = tuple(one for one in what.parts if one.kind != Kind.LIQUID)

    card = worked(
        replace(
            what, parts=(*kept, part(60, liquid=True, name="Water B"), part(40, liquid=True, name="Milk"))
        )
    )

    assert (grams(card, "Water B"), grams(card, "Milk")) == (175, 116)


def test_two_alkalis_share_the_mol():
    what = four_oils()
    kept = tuple(one for one in what.parts if one.kind != Kind.ALKALI)
    alkalis = (part(60, naoh=True, name="Soda"), part(40, koh=True, name="Potash"))

    card = worked(replace(what, parts=(*kept, *alkalis)))

    soda, potash = card.formulation.alkalis
    assert soda.mol / (soda.mol + potash.mol) == pytest.approx(0.6)


def test_citric_acid_takes_its_share_of_the_lye():
    """10 g of anhydrous citric acid (192.12 g/mol, three protons) take 6.25 g of pure NaOH."""
    what = four_oils()
    plain = worked(what).formulation.alkalis[0]

    acid = part(1, additive=True, acid="citric", name="Citric acid")
    soured = worked(replace(what, parts=(*what.parts, acid))).formulation.alkalis[0]

    assert (soured.grams - plain.grams) * plain.purity / 100 == pytest.approx(6.25, abs=0.01)


def test_the_ways_to_set_the_liquid_agree():
    what = four_oils()
    made = worked(what).formulation

    for method, value in ((LiquidBy.RATIO, made.liquid_ratio), (LiquidBy.OF_FATS, made.liquid_of_fats)):
        again = worked(replace(what, liquid_by=method, liquid_value=Decimal(str(value)))).formulation
        assert again.liquid_grams == pytest.approx(made.liquid_grams)


def test_a_certificate_goes_before_the_range_and_narrows_it():
    what = four_oils()
    palm = what.parts[2].material
    lot = LotFactory(material=palm, sap=Decimal(200), sap_uncertainty=Decimal(1))

    without, certified = worked(what), worked(what, lots={palm.pk: lot})

    line = next(one for one in certified.lines if one.material == palm)
    assert (line.sap.low, line.sap.high) == (199, 201)
    assert "certificate" in line.sap.source
    assert certified.safety.standard_uncertainty < without.safety.standard_uncertainty
    more = 250 * (200 - 199.5) / (1000 * M_KOH) * 0.95
    mol = certified.formulation.alkalis[0].mol - without.formulation.alkalis[0].mol
    assert mol == pytest.approx(more, rel=1e-6)


def test_a_certified_purity_changes_the_lye():
    what = four_oils()
    lye = what.parts[4].material
    lot = LotFactory(material=lye, purity=Decimal(97), purity_uncertainty=Decimal("0.5"))

    certified = worked(what, lots={lye.pk: lot}).formulation.alkalis[0]

    assert (certified.purity_low, certified.purity_high) == (96.5, 97.5)
    assert certified.grams > worked(what).formulation.alkalis[0].grams


def test_a_lot_without_a_certificate_changes_nothing():
    what = four_oils()
    lots = {one.material.pk: LotFactory(material=one.material) for one in what.parts}

    assert worked(what, lots=lots).formulation == worked(what).formulation


def test_working_out_asks_the_database_nothing(django_assert_num_queries):
    what = four_oils()
    lots = {one.material.pk: LotFactory(material=one.material) for one in what.parts}
    version = Version.objects.with_ingredients().get(pk=VersionFactory(design=what).pk)

    with django_assert_num_queries(0):
        worked(design_of(version), lots=lots)


def test_a_stored_design_reads_back_as_it_was():
    what = four_oils(
        size_by=SizeBy.MOULD, size_grams=None, mould=Mould(Decimal(200), Decimal(80), Decimal(60))
    )

    version = VersionFactory(design=what)

    assert design_of(Version.objects.with_ingredients().get(pk=version.pk)) == what


@pytest.mark.parametrize(
    ("shares", "words"),
    [((60, 30), "90 %; 10 % is missing"), ((60, "55.5"), "115.5 %; that is 15.5 % too much")],
)
def test_fats_must_add_up_to_a_hundred(shares: tuple[object, object], words: str):
    fats = [part(share) for share in shares]

    error = refusal(design(*fats, part(100, naoh=True), part(100, liquid=True)))

    assert (error.field, words in error.message) == ("fats", True)


def test_alkali_and_liquid_must_add_up_to_a_hundred():
    assert refusal(design(part(100), part(90, naoh=True), part(100, liquid=True))).field == "alkalis"
    assert refusal(design(part(100), part(100, naoh=True), part(90, liquid=True))).field == "liquids"


@pytest.mark.parametrize(
    ("left_out", "field"), [("fat", "fats"), ("alkali", "alkalis"), ("liquid", "liquids")]
)
def test_there_is_no_soap_without_fat_alkali_and_liquid(left_out: str, field: str):
    what = four_oils()

    error = refusal(replace(what, parts=tuple(one for one in what.parts if one.kind != left_out)))

    assert error.field == field


def test_a_fat_without_saponification_value_is_named():
    wax = MaterialFactory(name="Mystery wax", sap_low=None, sap_nominal=None, sap_high=None)

    error = refusal(design(part(100, wax), part(100, naoh=True), part(100, liquid=True)))

    assert (error.field, error.material) == ("fats", wax)
    assert "no saponification value" in error.message


def test_an_alkali_that_does_not_say_which_is_named():
    what = four_oils()
    lye = what.parts[4].material
    lye.alkali = ""

    assert refusal(what).material == lye


def test_a_material_stands_in_a_recipe_once():
    fat = MaterialFactory()

    error = refusal(design(part(50, fat), part(50, fat), part(100, naoh=True), part(100, liquid=True)))

    assert (error.field, error.material) == ("fats", fat)


@pytest.mark.parametrize("amount", ["0", "-1", "NaN", "Infinity"])
def test_an_amount_is_more_than_nothing(amount: str):
    assert refusal(design(part(amount), part(100, naoh=True), part(100, liquid=True))).field == "fats"


def test_a_recipe_holds_sixty_materials_and_no_more():
    fats = [part(Decimal(100) / 50) for _ in range(50)]
    base = [*fats, part(100, naoh=True), part(100, liquid=True)]
    additions = [part(1, additive=True) for _ in range(9)]

    assert len(worked(design(*base, *additions[:8])).lines) == 60
    assert "60" in refusal(design(*base, *additions)).message


@pytest.mark.parametrize(
    ("method", "value"),
    [
        ("concentration", 4),
        ("concentration", 61),
        ("ratio", "0.5"),
        ("ratio", 21),
        ("of_fats", 301),
        ("ratio", "NaN"),
    ],
)
def test_a_liquid_that_is_a_slip_of_the_pen_is_refused(method: str, value: object):
    assert refusal(design(liquid_by=LiquidBy(method), liquid_value=Decimal(value))).field == "liquid_value"


def test_lye_that_does_not_dissolve_is_refused():
    error = refusal(design(liquid_value=Decimal(55)))

    assert error.field == "liquid_value"
    assert "dissolve" in error.message


@pytest.mark.parametrize("superfat", ["-6", "31", "NaN"])
def test_superfat_stays_in_its_bounds(superfat: str):
    assert refusal(design(superfat=Decimal(superfat))).field == "superfat"


@pytest.mark.parametrize(
    ("size", "field"),
    [
        ({"size_by": SizeBy.BATTER, "size_grams": None}, "size_grams"),
        ({"size_grams": Decimal(0)}, "size_grams"),
        ({"size_grams": Decimal(2_000_000)}, "size_grams"),
        ({"size_by": SizeBy.MOULD}, "mould_length"),
        ({"size_by": SizeBy.MOULD, "mould": Mould(Decimal(200), Decimal(3000), Decimal(60))}, "mould_width"),
        ({"bars": 0}, "bars"),
        ({"bars": 2001}, "bars"),
    ],
)
def test_a_recipe_has_a_size(size: dict[str, object], field: str):
    assert refusal(design(**size)).field == field


def test_a_fat_that_the_scale_cannot_show_is_refused():
    what = design(part("99.96"), part("0.04", name="Drop"), part(100, naoh=True), part(100, liquid=True))

    error = refusal(what)

    assert (error.field, error.material.name) == ("fats", "Drop")


@pytest.mark.parametrize(
    ("shown", "step", "rounded"), [(143.4, 1, 143), (143.5, 1, 144), (12.34, 5, 10), (0.126, "0.01", "0.13")]
)
def test_weights_are_rounded_to_the_scale(shown: float, step: object, rounded: object):
    assert to_scale(shown, Decimal(step)) == Decimal(rounded)


def test_little_is_rounded_to_the_finer_scale_and_much_to_the_other():
    fine = Workshop(fine_scale_step=Decimal("0.01"), fine_scale_up_to=Decimal(100))
    scent = part("2.125", fragrance=True, name="Scent")
    what = four_oils()
    what = replace(what, parts=(*what.parts, scent))

    card = work_out(what, workshop=fine)

    assert grams(card, "Scent") == Decimal("21.25")
    assert grams(card, "Castor oil") == 50
    assert grams(card, "Sodium hydroxide") == 143
    assert not any(line.fine for line in card.lines)


def test_a_finer_scale_shows_a_pinch_and_is_named_where_it_cannot():
    fine = Workshop(fine_scale_step=Decimal("0.1"), fine_scale_up_to=Decimal(10))
    ink = part("0.044", colour_=True, name="Ink")
    what = four_oils()

    card = work_out(replace(what, parts=(*what.parts, ink)), workshop=fine)
    assert next(line for line in card.lines if line.material.name == "Ink").grams == Decimal("0.40")

    with pytest.raises(DesignError, match=r"shows steps of 0\.1 g"):
        work_out(replace(what, size_grams=Decimal("0.2")), workshop=fine)
