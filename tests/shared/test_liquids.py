"""What liquids are made of, and what of it takes alkali."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.chemistry import AcidKind, AlkaliKind
from shared.fats import reference_fats
from shared.ingredients import FormulaError, Sap
from shared.liquids import WATER, Liquid, check_liquid, mixture, reference_liquids
from shared.saponification import assess
from shared.tables import rows
from tests.shared.pots import FOUR_FATS, soda

LIQUIDS = {key: reference.liquid for key, reference in reference_liquids().items()}
MILK, GOAT, VINEGAR = LIQUIDS["cow_milk"], LIQUIDS["goat_milk"], LIQUIDS["distilled_vinegar"]


@pytest.mark.parametrize("key", LIQUIDS)
def test_the_contents_of_every_liquid_of_the_table_make_sense(key: str) -> None:
    check_liquid(LIQUIDS[key])
    assert LIQUIDS[key].other >= 0


def test_every_value_of_the_table_has_its_source() -> None:
    for row in rows("liquids.csv"):
        assert row["source"], row
        assert row["provenance"] in {"verified", "memory"}, row
        assert row["seen_at"] or row["provenance"] == "memory", row
        assert bool(row["acid"]) == bool(row["acid_source"]) == bool(row["acid_provenance"]), row
        assert bool(row["usual_low"]) == bool(row["usual_high"]), row


@pytest.mark.parametrize(
    ("key", "water", "fat", "sugar"),
    [
        # USDA SR28, NDB 01211, 01106, 12118, 14003, 19296; g per 100 g
        ("cow_milk", 88.13, 3.27, 5.05),
        ("goat_milk", 87.03, 4.14, 4.45),
        ("coconut_milk", 72.88, 21.33, 0),
        ("beer", 91.96, 0, 0),
        ("honey", 17.10, 0, 82.12),
    ],
)
def test_contents_are_those_of_the_source(key: str, water: float, fat: float, sugar: float) -> None:
    liquid = LIQUIDS[key]
    assert (liquid.water, liquid.fat, liquid.sugar) == (water, fat, sugar)
    assert "USDA" in liquid.source


def test_a_reference_tells_name_use_and_sources() -> None:
    milk, honey, orange, tea = (
        reference_liquids()[key] for key in ("goat_milk", "honey", "orange_juice", "water")
    )
    assert (milk.inci_name, milk.additive, milk.usual) == ("Caprae Lac", False, None)
    assert honey.additive
    assert honey.usual == (0.5, 3.0)
    assert [source.what for source in orange.sources] == ["composition", "acid", "INCI name"]
    assert [source.provenance for source in orange.sources] == ["verified", "memory", "memory"]
    assert [source.what for source in tea.sources] == ["composition", "INCI name"]
    assert "counts as milk fat" in milk.note


def test_every_liquid_has_an_inci_name_and_tells_how_it_is_known() -> None:
    for reference in reference_liquids().values():
        assert reference.inci_name
        assert reference.sources[-1].what == "INCI name"
        assert reference.sources[-1].provenance in {"verified", "memory"}


# What takes alkali


def test_milk_is_a_fat_of_low_saponification_value() -> None:
    """100 g of goat milk with 4.14 g of milk fat at 227.7 take 4.14 x 227.7 / 56.106 = 16.8 mmol."""
    fat = GOAT.fat_in(100)
    milk_fat = reference_fats()["milk_fat"].sap
    assert fat is not None
    assert milk_fat is not None
    assert fat.mol == pytest.approx(4.14 * milk_fat.nominal / 56.1056 / 1000, rel=1e-5)
    assert fat.sap.low == pytest.approx(3.31 * milk_fat.low / 100)
    assert fat.sap.high == pytest.approx(4.97 * milk_fat.high / 100)


@pytest.mark.parametrize("key", ["water", "skim_milk", "coconut_water", "apple_juice"])
def test_a_trace_of_fat_is_not_counted(key: str) -> None:
    assert LIQUIDS[key].effective_sap is None
    assert LIQUIDS[key].fat_in(100) is None


def test_no_milk_is_no_fat_and_no_acid() -> None:
    assert GOAT.fat_in(0) is None
    assert VINEGAR.acid_in(0) is None
    assert WATER.acid_in(100) is None


def test_vinegar_is_an_acid_solution_counted_at_the_least_it_holds() -> None:
    """100 g at 4 %: 4 g of acetic acid take 4 x 39.997 / 60.052 = 2.664 g of sodium hydroxide."""
    acid = VINEGAR.acid_in(100)
    assert acid is not None
    assert (acid.kind, acid.grams, acid.percent) == (AcidKind.ACETIC, 100, 4)
    assert acid.takes(AlkaliKind.NAOH) == pytest.approx(2.664, abs=0.001)


def test_the_alkali_for_a_gram_leaves_the_superfat_out_of_the_fat_only() -> None:
    yoghurt = LIQUIDS["yoghurt"]
    fat, acid = yoghurt.fat_in(1), yoghurt.acid_in(1)
    assert fat is not None
    assert acid is not None
    assert yoghurt.mol_per_gram(5) == pytest.approx(0.95 * fat.mol + acid.mol)
    assert WATER.mol_per_gram(5) == 0


def test_the_fat_of_milk_widens_the_safety_range_by_its_own_uncertainty() -> None:
    sure = replace(GOAT, fat_low=GOAT.fat, fat_high=GOAT.fat, sap=Sap(227, 227, 227))
    wide, narrow = GOAT.fat_in(400), sure.fat_in(400)
    assert wide is not None
    assert narrow is not None
    lye = (soda(140),)
    assert (
        assess((*FOUR_FATS, wide), lye).standard_uncertainty
        > assess((*FOUR_FATS, narrow), lye).standard_uncertainty
    )


def test_milk_and_malt_scorch_and_water_does_not() -> None:
    assert GOAT.scorches
    assert LIQUIDS["beer"].scorches
    assert not WATER.scorches
    assert not LIQUIDS["aloe_juice"].scorches


# Mixtures


def test_brine_is_mixed_of_water_and_salt() -> None:
    brine = mixture("Brine", [(WATER, 75), (LIQUIDS["salt"], 25)])
    assert brine.salt == pytest.approx(24.95)
    assert brine.water == pytest.approx(75.05)
    assert brine.sap is None
    assert brine.source == "Mixed of Water, Salt"


def test_honey_water_brings_the_sugar_of_the_honey() -> None:
    water = mixture("Honey water", [(WATER, 90), (LIQUIDS["honey"], 10)])
    assert water.sugar == pytest.approx(8.212)
    assert water.water == pytest.approx(91.71)


def test_a_mixture_of_milks_keeps_fat_and_reference() -> None:
    mixed = mixture("Half and half", [(MILK, 50), (GOAT, 50), (WATER, 0)])
    assert mixed.fat == pytest.approx((3.27 + 4.14) / 2)
    assert mixed.fat_reference == "milk_fat"
    assert mixed.sap is not None
    assert mixed.sap.nominal == pytest.approx(227.7, abs=0.5)
    check_liquid(mixed)


def test_a_mixture_of_two_fats_spans_both_ranges() -> None:
    coconut = LIQUIDS["coconut_milk"]
    mixed = mixture("Two milks", [(MILK, 60), (coconut, 40)])
    assert mixed.sap is not None
    assert coconut.sap is not None
    assert MILK.sap is not None
    assert (mixed.sap.low, mixed.sap.high) == (MILK.sap.low, coconut.sap.high)
    assert mixed.fat_reference == ""


def test_an_acid_stays_in_the_mixture() -> None:
    mixed = mixture("Sour water", [(WATER, 50), (VINEGAR, 50)])
    assert (mixed.acid, mixed.acid_least) == (AcidKind.ACETIC, 2)


def test_a_fat_without_a_weight_has_no_value() -> None:
    assert mixture("Odd", [(replace(MILK, fat=0.0), 1)]).sap is None


@pytest.mark.parametrize(
    "parts",
    [
        [],
        [(WATER, 0)],
        [(WATER, -1)],
        [(WATER, math.nan)],
        [(WATER, 1e9)],
        [(VINEGAR, 50), (LIQUIDS["yoghurt"], 50)],
    ],
)
def test_what_cannot_be_mixed_is_refused(parts: list[tuple[Liquid, float]]) -> None:
    with pytest.raises(FormulaError) as caught:
        mixture("Odd", parts)
    assert caught.value.field == "liquid"


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(list(LIQUIDS)), st.floats(0.1, 1e4)), min_size=1, max_size=5))
def test_a_mixture_holds_what_its_parts_hold(parts: list[tuple[str, float]]) -> None:
    liquids = [(LIQUIDS[key], grams) for key, grams in parts]
    if len({liquid.acid for liquid, _ in liquids if liquid.acid}) > 1:
        return
    mixed = mixture("Mixed", liquids)
    total = sum(grams for _, grams in liquids)
    for content in ("water", "fat", "sugar", "salt", "alcohol"):
        held = sum(getattr(liquid, content) * grams for liquid, grams in liquids)
        assert getattr(mixed, content) * total == pytest.approx(held, abs=1e-6)


# Bad input


@pytest.mark.parametrize(
    ("liquid", "words"),
    [
        (Liquid("Odd", -1), "between 0 and 100"),
        (Liquid("Odd", math.nan), "between 0 and 100"),
        (Liquid("Odd", 101), "between 0 and 100"),
        (Liquid("Odd", 90, sugar=20), "more than 100 g"),
        (replace(MILK, fat_low=4.0), "inside the range"),
    ],
)
def test_contents_that_cannot_be_are_refused(liquid: Liquid, words: str) -> None:
    with pytest.raises(FormulaError, match=words) as caught:
        check_liquid(liquid)
    assert caught.value.field == "liquid"
