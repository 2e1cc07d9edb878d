"""What the pot turns into."""

import math
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.chemistry import AcidKind, AlkaliKind
from shared.contents import Contents, Extra, PotFat, PotLiquid, SoapNames
from shared.fats import reference_fats
from shared.finished_bar import USUAL_WATER, FinishedBar, finish
from shared.finished_figures import explain_fatty_matter, explain_glycerin, explain_water
from shared.ingredients import Acid, Alkali, Fat, FatKind, FormulaError, Sap
from shared.label_order import as_put_in, as_sold, claims
from shared.liquids import WATER, Liquid, reference_liquids
from shared.saponification import LiquidPart, formulate
from tests.shared.pots import formula, potash, soda

REFERENCES = reference_fats()
LIQUIDS = {key: reference.liquid for key, reference in reference_liquids().items()}


def fat(key: str, grams: float) -> PotFat:
    reference = REFERENCES[key]
    assert reference.sap
    return PotFat.of(Fat(reference.name, grams, reference.sap, kind=reference.kind), reference)


FATS = (fat("olive", 450), fat("coconut", 250), fat("palm", 250), fat("castor", 50))
PLAIN = Contents(FATS, (soda(138),), liquids=(PotLiquid(WATER, 280, "Aqua"),))
FULL = Contents(
    fats=(*FATS, fat("stearic_acid", 20), fat("beeswax", 10)),
    alkalis=(soda(140), Alkali(AlkaliKind.KOH, 40, 49, 51, dissolved=True)),
    acids=(Acid(AcidKind.CITRIC_MONOHYDRATE, 10), Acid(AcidKind.LACTIC, 10, 80)),
    liquids=(
        PotLiquid(LIQUIDS["goat_milk"], 150, "Caprae Lac", SoapNames.of(REFERENCES["milk_fat"])),
        PotLiquid(LIQUIDS["yoghurt"], 30, "Yogurt"),
        PotLiquid(LIQUIDS["beer"], 60, "Beer"),
        PotLiquid(LIQUIDS["apple_juice"], 20, "Pyrus Malus Juice"),
        PotLiquid(WATER, 50, "Aqua"),
    ),
    extras=(Extra("Lavender oil", 20, "Lavandula Angustifolia Oil"),),
)


def parts(bar: FinishedBar) -> Iterator[float]:
    yield from (soap.grams for soap in bar.soaps)
    yield from (bar.glycerin, bar.unsaponifiable, bar.water, bar.alcohol)
    for amounts in (bar.unsaponified, bar.salts, bar.free_alkali, bar.rest):
        yield from (amount.grams for amount in amounts)


@pytest.mark.parametrize("contents", [PLAIN, FULL])
def test_mass_in_is_mass_out(contents: Contents) -> None:
    bar = finish(contents)
    assert bar.put_in == pytest.approx(contents.grams)
    assert sum(parts(bar)) == pytest.approx(contents.grams, rel=1e-12)
    assert bar.fresh == pytest.approx(contents.grams, rel=1e-12)


def test_every_kind_of_matter_finds_its_place() -> None:
    bar = finish(FULL)
    assert {amount.name for amount in bar.salts} == {
        "Trisodium citrate",
        "Tripotassium citrate",
        "Sodium lactate",
        "Potassium lactate",
    }
    assert {amount.name for amount in bar.rest} == {
        "Goat milk",
        "Yoghurt, whole milk",
        "Beer",
        "Apple juice",
        "Lavender oil",
        "Other matter of the alkali",
    }
    assert "fat of Apple juice" in {amount.name for amount in bar.unsaponified}
    assert bar.alcohol == pytest.approx(60 * 0.039)
    assert not bar.free_alkali


def test_the_share_saponified_is_what_the_superfat_leaves() -> None:
    made = formulate(formula())
    contents = Contents(
        tuple(PotFat(fat) for fat in formula().fats),
        made.alkalis,
        liquids=(PotLiquid(WATER, made.liquid_grams),),
    )
    bar = finish(contents)
    assert bar.saponified == pytest.approx(95)
    assert sum(amount.grams for amount in bar.unsaponified) == pytest.approx(50)


def test_the_fat_of_milk_becomes_soap_just_as_the_recipe_counted_it() -> None:
    milk = LIQUIDS["goat_milk"]
    recipe = replace(formula(), liquids=(LiquidPart(milk, 100),))
    made = formulate(recipe)
    bar = finish(
        Contents(
            tuple(PotFat(fat) for fat in recipe.fats),
            made.alkalis,
            liquids=(PotLiquid(milk, made.liquid_grams),),
        )
    )
    assert bar.saponified == pytest.approx(95)


def test_too_much_lye_stays_as_lye() -> None:
    bar = finish(replace(PLAIN, alkalis=(soda(160),)))
    assert bar.saponified == 100
    assert bar.unsaponified == ()
    (lye,) = bar.free_alkali
    assert lye.name == "Sodium hydroxide"
    taken = sum(part.fat.mol for part in FATS) * AlkaliKind.NAOH.molar_mass
    assert lye.grams == pytest.approx(160 * 0.985 - taken)
    assert bar.fresh == pytest.approx(bar.put_in, rel=1e-12)


def test_soaps_of_two_alkalis_are_shared_by_mol() -> None:
    bar = finish(replace(PLAIN, alkalis=(soda(100, 100, 100), potash(60, 100, 100))))
    sodium, potassium = bar.soaps[:2]
    assert (sodium.alkali, potassium.alkali) == (AlkaliKind.NAOH, AlkaliKind.KOH)
    ratio = (100 / AlkaliKind.NAOH.molar_mass) / (60 / AlkaliKind.KOH.molar_mass)
    assert sodium.fatty_acids / potassium.fatty_acids == pytest.approx(ratio)


def test_a_wax_and_a_free_acid_give_no_glycerin() -> None:
    plain = finish(Contents((fat("olive", 500),), (soda(65),), liquids=(PotLiquid(WATER, 130),)))
    assert plain.glycerin > 49
    for key in ("stearic_acid", "beeswax"):
        alone = finish(Contents((fat(key, 500),), (soda(20),), liquids=(PotLiquid(WATER, 130),)))
        assert alone.glycerin == 0
        assert alone.fresh == pytest.approx(alone.put_in, rel=1e-12)


def test_a_free_acid_sets_water_free() -> None:
    bar = finish(
        Contents((fat("stearic_acid", 500),), (soda(20, 100, 100),), liquids=(PotLiquid(WATER, 130),))
    )
    assert bar.water == pytest.approx(130 + 20 / AlkaliKind.NAOH.molar_mass * 18.015, abs=0.001)


def test_fat_after_the_cook_stays_fat() -> None:
    shea = fat("shea_butter", 50)
    lye = sum(part.fat.mol for part in FATS) * AlkaliKind.NAOH.molar_mass
    bar = finish(replace(PLAIN, alkalis=(soda(lye, 100, 100),), after_cook=(shea,)))
    assert [amount.name for amount in bar.unsaponified] == ["Shea butter, unrefined"]
    (left,) = bar.unsaponified
    assert left.grams == pytest.approx(50 * (1 - shea.unsaponifiable / 1000))
    assert bar.saponified < 100


def test_fat_after_the_cook_takes_what_lye_is_left() -> None:
    lye = sum(part.fat.mol for part in FATS) * AlkaliKind.NAOH.molar_mass
    bar = finish(replace(PLAIN, alkalis=(soda(lye * 1.02, 100, 100),), after_cook=(fat("shea_butter", 50),)))
    assert not bar.free_alkali
    assert sum(amount.grams for amount in bar.unsaponified) < 40
    assert bar.fresh == pytest.approx(bar.put_in, rel=1e-12)


# Water


def test_water_left_is_assumed_to_be_the_usual_share() -> None:
    bar = finish(PLAIN)
    assert bar.water_assumed
    assert bar.share(bar.water_left) == pytest.approx(USUAL_WATER)


def test_a_bar_that_never_held_the_usual_water_keeps_what_it_has() -> None:
    dry = finish(replace(PLAIN, liquids=(PotLiquid(WATER, 50),)))
    assert dry.water_left == dry.water
    assert dry.loss == pytest.approx(0)


def test_water_left_follows_from_the_loss_of_weight() -> None:
    bar = finish(PLAIN, loss=12)
    assert not bar.water_assumed
    assert bar.cured == pytest.approx(0.88 * bar.fresh)
    assert bar.loss == pytest.approx(12)


def test_alcohol_leaves_before_the_water() -> None:
    beer = replace(PLAIN, liquids=(PotLiquid(LIQUIDS["beer"], 280),))
    gone = 100 * 280 * 0.039 / beer.grams
    bar = finish(beer, loss=gone)
    assert bar.water_left == pytest.approx(bar.water)
    assert finish(beer, loss=gone / 2).water_left == bar.water


def test_water_left_can_be_aimed_at() -> None:
    bar = finish(PLAIN, water_left=8)
    assert bar.share(bar.water_left) == pytest.approx(8)
    assert finish(PLAIN, water_left=0).water_left == 0


@pytest.mark.parametrize("loss", [-1, 100, math.nan, 60])
def test_a_loss_that_cannot_be_is_refused(loss: float) -> None:
    with pytest.raises(FormulaError) as caught:
        finish(PLAIN, loss=loss)
    assert caught.value.field == "liquid"


@pytest.mark.parametrize("share", [-1, 100, math.nan, 60])
def test_water_that_cannot_be_is_refused(share: float) -> None:
    with pytest.raises(FormulaError) as caught:
        finish(PLAIN, water_left=share)
    assert caught.value.field == "liquid"


# Properties

KEYS = [key for key, reference in REFERENCES.items() if reference.sap]


@st.composite
def pots(draw: st.DrawFn) -> Contents:
    grams = st.floats(1, 2000)
    fats = tuple(
        fat(key, draw(grams)) for key in draw(st.lists(st.sampled_from(KEYS), min_size=1, max_size=5))
    )
    after = tuple(fat(key, draw(grams)) for key in draw(st.lists(st.sampled_from(KEYS), max_size=1)))
    liquids = tuple(
        PotLiquid(LIQUIDS[key], draw(grams))
        for key in draw(st.lists(st.sampled_from(list(LIQUIDS)), max_size=4))
    )
    acids = draw(st.sampled_from([(), (Acid(AcidKind.CITRIC, 20),), (Acid(AcidKind.ACETIC, 30, 60),)]))
    sour = [*acids, *(acid for part in liquids if (acid := part.liquid.acid_in(part.grams)))]
    for_acids = sum(acid.takes(AlkaliKind.NAOH) for acid in sour)
    low = draw(st.floats(90, 99))
    soda_part = draw(st.sampled_from([0.0, 0.4, 1.0]))
    lye = 1.1 * for_acids + draw(st.floats(0.1, 1.3)) * 40 * sum(part.fat.mol for part in fats)
    alkalis = (
        Alkali(AlkaliKind.NAOH, soda_part * lye + 1, low, 100),
        Alkali(AlkaliKind.KOH, (1 - soda_part) * lye * 2.96, 45, 50, dissolved=True),
    )
    return Contents(fats, alkalis, acids, liquids, (Extra("Clay", draw(st.floats(0, 50))),), after)


@settings(max_examples=150, deadline=None)
@given(pots())
def test_mass_is_kept_in_any_pot(contents: Contents) -> None:
    bar = finish(contents)
    assert sum(parts(bar)) == pytest.approx(contents.grams, rel=1e-9)
    assert all(grams >= -1e-9 * contents.grams for grams in parts(bar) if grams != bar.water)
    assert 0 < bar.saponified <= 100 + 1e-9
    assert sum(amount.grams for amount in as_sold(bar)) == pytest.approx(bar.cured, rel=1e-9)
    assert sum(amount.grams for amount in as_put_in(contents)) == pytest.approx(contents.grams, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.1, 10))
def test_a_batch_of_another_size_is_the_same_soap(factor: float) -> None:
    scaled = replace(
        PLAIN,
        fats=tuple(replace(part, fat=replace(part.fat, grams=part.fat.grams * factor)) for part in FATS),
        alkalis=(soda(138 * factor),),
        liquids=(PotLiquid(WATER, 280 * factor),),
    )
    one, other = finish(PLAIN), finish(scaled)
    assert other.glycerin == pytest.approx(one.glycerin * factor)
    assert other.share(other.total_fatty_matter) == pytest.approx(one.share(one.total_fatty_matter))


def test_more_lye_never_leaves_more_fat() -> None:
    left = [
        sum(amount.grams for amount in finish(replace(PLAIN, alkalis=(soda(grams),))).unsaponified)
        for grams in range(60, 170, 10)
    ]
    assert left == sorted(left, reverse=True)


# The list of ingredients


def test_as_put_in_names_the_heaviest_first_and_the_same_name_once() -> None:
    listed = as_put_in(FULL)
    assert [amount.grams for amount in listed] == sorted((amount.grams for amount in listed), reverse=True)
    names = {amount.inci_name: amount.grams for amount in listed}
    assert names["Olea Europaea Fruit Oil"] == 450
    assert names["Aqua"] == pytest.approx(
        50 + 20 + 2
    )  # water, and that of the potash lye and the lactic acid
    assert names["Sodium Hydroxide"] == 140
    assert names["Potassium Hydroxide"] == 20
    assert names["Citric Acid"] == 10
    assert names["Lactic Acid"] == 8
    assert names["Caprae Lac"] == 150


def test_as_sold_names_the_soaps() -> None:
    listed = as_sold(finish(FULL))
    assert [amount.grams for amount in listed] == sorted((amount.grams for amount in listed), reverse=True)
    names = {amount.inci_name for amount in listed}
    assert {
        "Sodium Olivate",
        "Potassium Cocoate",
        "Sodium Stearate",
        "Sodium Butterate",
        "Glycerin",
        "Aqua",
        "Sodium Citrate",
        "Potassium Lactate",
        "Lavandula Angustifolia Oil",
    } <= names
    assert "Sodium Hydroxide" not in names


def test_a_soap_without_a_known_name_is_called_after_its_fat() -> None:
    bar = finish(replace(PLAIN, fats=(*FATS, fat("goose_fat", 300))))
    named = {amount.name: amount.inci_name for amount in as_sold(bar)}
    assert named["sodium soap of Goose fat"] == ""


def test_lye_left_over_is_on_the_list() -> None:
    names = {amount.inci_name for amount in as_sold(finish(replace(PLAIN, alkalis=(soda(170),))))}
    assert "Sodium Hydroxide" in names


def test_a_claim_is_given_of_fats_of_everything_and_of_the_bar() -> None:
    bar = finish(PLAIN, loss=15)
    olive, *_, water = claims(PLAIN, bar)
    assert olive.name == "Olive oil"
    assert olive.of_fats == pytest.approx(45)
    assert olive.of_all == pytest.approx(100 * 450 / 1418)
    assert olive.of_bar == pytest.approx(100 * 450 / (0.85 * 1418))
    assert water.name == "Water"
    assert water.of_fats is None
    assert [claim.name for claim in claims(FULL, finish(FULL))][-1] == "Lavender oil"


# Figures that open


def test_the_figures_open() -> None:
    bar = finish(PLAIN)
    glycerin, fatty, water = explain_glycerin(bar), explain_fatty_matter(bar), explain_water(bar)
    assert glycerin.value == bar.glycerin
    assert [given.name for given in glycerin.given][:2] == ["Olive oil", "Olive oil: saponification value"]
    assert fatty.value == pytest.approx(bar.share(bar.total_fatty_matter))
    assert sum(given.value for given in fatty.given[:3]) == pytest.approx(bar.total_fatty_matter)
    assert water.value == pytest.approx(10)
    assert "common practice" in water.source
    assert water.given[1].source == "common practice, no source"


def test_a_weighed_loss_is_no_practice() -> None:
    water = explain_water(finish(PLAIN, loss=10))
    assert water.source == "As weighed."
    assert water.given[1].source == ""


# Bad input


@pytest.mark.parametrize(
    ("contents", "field"),
    [
        (replace(PLAIN, fats=()), "fats"),
        (replace(PLAIN, fats=(PotFat(Fat("Odd", math.nan, Sap(190, 190, 190))),)), "fats"),
        (replace(PLAIN, fats=(PotFat(FATS[0].fat, 1000),)), "fats"),
        (replace(PLAIN, fats=(PotFat(FATS[0].fat, -1),)), "fats"),
        (replace(PLAIN, alkalis=()), "alkalis"),
        (replace(PLAIN, alkalis=(soda(-1),)), "alkalis"),
        (replace(PLAIN, acids=(Acid(AcidKind.CITRIC, 500),)), "acids"),
        (replace(PLAIN, acids=(Acid(AcidKind.CITRIC, -5),)), "acids"),
        (replace(PLAIN, liquids=(PotLiquid(WATER, -1),)), "liquid"),
        (replace(PLAIN, liquids=(PotLiquid(Liquid("Odd", 120), 1),)), "liquid"),
        (replace(PLAIN, extras=(Extra("Clay", math.inf),)), "liquid"),
    ],
)
def test_nonsense_is_refused(contents: Contents, field: str) -> None:
    with pytest.raises(FormulaError) as caught:
        finish(contents)
    assert caught.value.field == field


def test_contents_a_rounding_over_a_hundred_are_taken_off_the_water() -> None:
    odd = Liquid("Odd", 95.02, sugar=5.02)
    bar = finish(replace(PLAIN, liquids=(PotLiquid(odd, 280),)))
    assert bar.fresh == pytest.approx(bar.put_in, rel=1e-12)


def test_kinds_of_fat_are_told_apart() -> None:
    assert fat("beeswax", 1).fat.kind is FatKind.WAX
    assert fat("oleic_acid", 1).fat.kind is FatKind.FREE_ACID
