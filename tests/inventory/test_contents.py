"""What liquids, additives, lye solutions and fats are made of: rules of the services."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from inventory.models import Kind, Material, Origin
from inventory.services.lots import update_lot
from inventory.services.materials import create_material, update_material
from tests.factories import LotFactory, MaterialFactory

pytestmark = pytest.mark.django_db

MILK = {
    "name": "Hill goat milk",
    "water": Decimal(87),
    "fat": Decimal(4),
    "fat_low": Decimal(3),
    "fat_high": Decimal(5),
    "fat_reference": "milk_fat",
    "sugar": Decimal("4.5"),
}
OLEIC = {"C16:0": 11.0, "C18:1": 74.5, "C18:2": 10.0}


def liquid(by, **fields):
    return create_material(kind=Kind.LIQUID, by=by, **{"name": "Nettle tea", **fields})


def additive(by, **fields):
    return create_material(kind=Kind.ADDITIVE, by=by, **{"name": "Sour powder", **fields})


def solution(by, **fields):
    good = {"alkali": "naoh", "dissolved": True, "purity_low": Decimal(49), "purity_high": Decimal(51)}
    return create_material(kind=Kind.ALKALI, by=by, **{"name": "Lye", **good, **fields})


def fat(by, **fields):
    return create_material(kind=Kind.FAT, by=by, **{"name": "Plum kernel oil", **fields})


def refused(make, *args, **fields):
    """The fields at which it is refused."""
    with pytest.raises(ValidationError) as error:
        make(*args, **fields)
    assert not Material.objects.exists()
    return list(error.value.message_dict)


def test_a_milk_is_kept_with_what_it_is_made_of(maker):
    made = liquid(maker, **MILK, composition_source="the label")
    assert (made.contents.fat_low, made.contents.fat, made.contents.fat_high) == (3, 4, 5)
    assert (made.contents.other, made.contents.source) == (4.5, "the label")
    assert made.contents.effective_sap is not None


def test_where_only_the_usual_fat_is_known_a_fifth_to_either_side_is_assumed(maker):
    made = liquid(maker, **MILK | {"fat_low": None, "fat_high": None})
    assert (made.fat_low, made.fat_high) == (Decimal("3.2"), Decimal("4.8"))


def test_no_more_than_all_of_it_can_be_fat(maker):
    made = additive(maker, water=Decimal(2), fat=Decimal(95), fat_reference="coconut")
    assert made.fat_high == 100


def test_a_trace_of_fat_needs_no_name(maker):
    assert liquid(maker, water=Decimal(95), fat=Decimal("0.4")).contents.sap is None


def test_a_liquid_of_which_nothing_is_known_may_be_kept(maker):
    assert liquid(maker).contents is None


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("water", {"water": Decimal(-1)}),
        ("water", {"water": Decimal(101)}),
        ("water", {"water": Decimal("NaN")}),
        ("water", {"water": Decimal("Infinity")}),
        ("water", {"water": None}),
        ("water", {"water": Decimal(92)}),
        ("sugar", {"sugar": Decimal(-1)}),
        ("salt", {"salt": Decimal("NaN")}),
        ("alcohol", {"alcohol": Decimal(1000)}),
        ("fat", {"fat": Decimal("NaN")}),
        ("fat", {"fat": Decimal(-1)}),
        ("fat", {"fat": Decimal(0)}),
        ("fat_low", {"fat_low": Decimal("4.5")}),
        ("fat_high", {"fat_high": Decimal("3.5")}),
        ("fat_high", {"fat_high": Decimal(101)}),
        ("fat_reference", {"fat_reference": ""}),
        ("fat_reference", {"fat_reference": "", "fat_low": None, "fat_high": None}),
        ("fat_reference", {"fat_reference": "", "fat": Decimal("0.1")}),
        ("fat_reference", {"fat_reference": "motor-oil"}),
        ("fat_reference", {"fat_reference": "no slug"}),
        ("acid", {"acid_least": Decimal(4)}),
        ("acid", {"acid": "sulphuric", "acid_least": Decimal(4)}),
        ("acid_least", {"acid": "lactic"}),
        ("acid_least", {"acid": "lactic", "acid_least": Decimal(0)}),
        ("acid_least", {"acid": "lactic", "acid_least": Decimal(-1)}),
        ("acid_least", {"acid": "lactic", "acid_least": Decimal(101)}),
        ("composition_source", {"composition_source": "x" * 301}),
        ("dissolved", {"dissolved": True}),
        ("antioxidant", {"antioxidant": True}),
        ("origin", {"origin": "animal"}),
        ("profile", {"profile": OLEIC}),
    ],
)
def test_a_milk_that_cannot_be_is_refused_at_its_field(maker, field, values):
    assert refused(liquid, maker, **MILK | values) == [field]


@pytest.mark.parametrize("said", [{"sugar": Decimal(5)}, {"salt": Decimal(5)}, {"alcohol": Decimal(5)}])
def test_contents_without_the_water_are_refused(maker, said):
    assert refused(liquid, maker, **said) == ["water"]
    assert refused(additive, maker, **said) == ["water"]


def test_an_acid_in_a_liquid_needs_its_water_too(maker):
    assert refused(liquid, maker, acid="acetic", acid_least=Decimal(4)) == ["water"]


def test_an_additive_is_all_acid_unless_a_share_is_said(maker):
    assert additive(maker, acid="citric").acid_percent == 100
    assert additive(maker, name="Sour drops", acid="lactic", acid_least=Decimal(80)).acid_percent == 80


def test_an_additive_whose_water_is_known_says_how_sour_it_is(maker):
    assert refused(additive, maker, water=Decimal(20), acid="lactic") == ["acid_least"]
    assert additive(maker, water=Decimal(20), acid="lactic", acid_least=Decimal(80)).contents.other == 0


def test_an_additive_or_a_fat_may_be_an_antioxidant(maker):
    assert additive(maker, antioxidant=True).antioxidant
    assert fat(maker, antioxidant=True).antioxidant


def test_a_lye_solution_is_kept_with_its_strength(maker):
    made = solution(maker)
    assert (made.dissolved, made.purity_range) == (True, (49, 51))


def test_a_solution_stronger_than_what_dissolves_is_refused(maker):
    assert refused(solution, maker, purity_high=Decimal(60)) == ["purity_high"]
    assert refused(solution, maker, alkali="", purity_high=Decimal(60)) == ["alkali"]
    assert solution(maker, alkali="koh", purity_high=Decimal("52.5")).purity_high == Decimal("52.5")


def test_a_dry_alkali_may_be_nearly_pure(maker):
    assert solution(maker, dissolved=False, purity_low=Decimal(98), purity_high=Decimal(100)).purity_low == 98


def test_a_lot_of_a_solution_is_no_stronger_than_what_dissolves(maker):
    lot = LotFactory(material=MaterialFactory(lye_solution=True))
    update_lot(lot=lot, by=maker, purity=Decimal("50.2"), purity_uncertainty=Decimal("0.5"))
    with pytest.raises(ValidationError) as error:
        update_lot(lot=lot, by=maker, purity=Decimal("98.8"), purity_uncertainty=Decimal("0.5"))
    assert list(error.value.message_dict) == ["purity"]
    assert "stays dissolved at 20 °C" in error.value.messages[0]


def test_a_fat_is_kept_with_its_own_fatty_acids(maker):
    made = fat(maker, profile=OLEIC, origin="plant", fat_kind="triglyceride")
    made.refresh_from_db()
    assert made.published.typical == OLEIC


@pytest.mark.parametrize(
    "profile",
    [
        {"C18:1": 89.9},
        {"C18:1": 75.0, "C16:0": 27.1},
        {"C18:1": 95.0, "C16:0": -1.0},
        {"C18:1": 95.0, "C16:0": 0.0},
        {"C18:1": 101.0},
        {"C18:1": float("nan")},
        {"C18:1": float("inf")},
        {"C99:9": 95.0},
    ],
)
def test_fatty_acids_that_cannot_be_are_refused(maker, profile):
    assert refused(fat, maker, profile=profile) == ["profile"]


@pytest.mark.parametrize("share", [90.0, 100.0])
def test_what_traces_leave_out_is_allowed(maker, share):
    assert fat(maker, profile={"C18:1": share}).profile == {"C18:1": share}


@pytest.mark.parametrize(("field", "value"), [("fat_kind", "stone"), ("origin", "moon")])
def test_a_kind_or_an_origin_that_does_not_exist_is_refused(maker, field, value):
    assert refused(fat, maker, **{field: value}) == [field]


@pytest.mark.parametrize(
    ("reference", "origin"),
    [
        ("olive", Origin.PLANT),
        ("palm_kernel", Origin.PALM),
        ("lard", Origin.ANIMAL),
        ("stearic_acid", None),
        ("", None),
    ],
)
def test_where_a_fat_comes_from_follows_from_its_organism(reference, origin):
    assert MaterialFactory(reference=reference).known_origin == origin


def test_where_a_fat_comes_from_is_what_the_maker_says_first():
    assert MaterialFactory(reference="stearic_acid", origin="palm").known_origin == Origin.PALM


def test_a_change_of_contents_is_remembered(maker):
    made = liquid(maker, **MILK)
    update_material(material=made, by=maker, sugar=Decimal(5))
    made.refresh_from_db()
    assert made.sugar == 5
