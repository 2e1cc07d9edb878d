"""Recipes carried out in a file and in again: the same weights, nothing twice, nothing taken for another."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import transaction
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from inventory.models import Kind, Material
from recipes import services
from recipes.design import Design, Mould, Part, design_of
from recipes.errors import DesignError
from recipes.formulation import work_out
from recipes.models import LiquidBy, LiquidScope, Process, Recipe, SizeBy, Stage, Version
from recipes.services import Fate
from soapshop.core.models import History, User, Workshop
from soapshop.core.queries import history_of
from tests.factories import MaterialFactory, UserFactory, VersionFactory, design, part
from tests.recipes.carried import by_hand, empty_workshop, file_of, kept, tried

pytestmark = pytest.mark.django_db


def weights(design: Design) -> list[tuple[str, Stage, Decimal]]:
    lines = work_out(design, workshop=Workshop()).lines
    return [(line.material.name, line.part.stage, line.grams) for line in lines]


def can_be_made(design: Design) -> bool:
    try:
        return bool(weights(design))
    except DesignError:
        return False


def stored(version: Version) -> Version:
    return Version.objects.with_ingredients().get(pk=version.pk)


def only_version() -> Version:
    return Version.objects.with_ingredients().get()


def fates(found: services.Kept) -> list[tuple[str, Fate]]:
    return [(one.name, one.fate) for one in found.recipes]


# --- the same recipe in another workshop --------------------------------------------------------------------

MILK = {
    "water": Decimal("87.03"),
    "fat": Decimal("4.14"),
    "fat_low": Decimal("3.73"),
    "fat_high": Decimal("4.55"),
    "fat_reference": "milk_fat",
    "sugar": Decimal("4.45"),
    "composition_source": "a table",
}
SIZES: list[dict[str, Any]] = [
    {"size_by": SizeBy.FATS, "size_grams": Decimal("1234.56")},
    {"size_by": SizeBy.BATTER, "size_grams": Decimal(1500)},
    {"size_by": SizeBy.MOULD, "mould": Mould(Decimal(250), Decimal("80.5"), Decimal(60))},
    {"size_by": SizeBy.WEIGHTS, "size_grams": None},
]
LIQUIDS = [
    (LiquidBy.CONCENTRATION, Decimal("31.5")),
    (LiquidBy.RATIO, Decimal("2.25")),
    (LiquidBy.OF_FATS, Decimal(38)),
]


@st.composite
def designs(draw: st.DrawFn) -> Design:
    """A recipe of two to four fats with milk and vinegar, said in any of the ways."""
    size = draw(st.sampled_from(SIZES))
    whole = 1000 if size["size_by"] == SizeBy.WEIGHTS else 100
    cuts = draw(st.lists(st.integers(1, 49), min_size=1, max_size=3, unique=True))
    edges = [Decimal(cut * whole) / 50 for cut in [0, *sorted(cuts), 50]]
    shares = [high - low for low, high in pairwise(edges)]
    process = draw(st.sampled_from(Process))
    stages = [Stage.USUAL, *([Stage.COOK if process == Process.HOT else Stage.USUAL] * (len(shares) - 1))]
    fats = [
        Part(MaterialFactory(sap_nominal=draw(st.integers(184, 196))), share, stage)
        for share, stage in zip(shares, stages, strict=True)
    ]
    solution = {"dissolved": True, "purity_low": 49, "purity_high": 50}
    lye = MaterialFactory(naoh=True, **draw(st.sampled_from([solution, {}])))
    split = draw(st.decimals(min_value=1, max_value=30, places=3))
    milk = MaterialFactory(liquid=True, **MILK)
    parts = [
        *fats,
        part(100, lye),
        Part(MaterialFactory(liquid=True), 100 - split),
        Part(milk, split, draw(st.sampled_from([Stage.USUAL, Stage.TRACE]))),
        Part(MaterialFactory(additive=True, acid="citric", acid_least=99), Decimal("0.8"), Stage.LYE),
        part("2.125", fragrance=True),
        part("0.5", colour_=True),
        part(2, packaging=True),
    ]
    liquid_by, liquid_value = draw(st.sampled_from(LIQUIDS))
    return design(
        *parts,
        superfat=draw(st.decimals(min_value=0, max_value=12, places=2)),
        liquid_by=liquid_by,
        liquid_value=liquid_value,
        liquid_scope=draw(st.sampled_from(LiquidScope)),
        process=process,
        bars=draw(st.integers(1, 40)),
        **size,
    )


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_a_recipe_weighs_the_same_to_the_gram_in_an_empty_workshop(data: st.DataObject):
    with transaction.atomic():
        before = data.draw(designs())
        assume(can_be_made(before))
        version = VersionFactory(design=before, note="Why", cure_days=35, bar_colour="#a9b9c1")
        carried = file_of(version)
        empty_workshop()

        found = kept(carried, UserFactory())

        after = only_version()
        assert [one.why for one in found.recipes] == [""]
        assert weights(design_of(after)) == weights(before)
        assert (after.note, after.cure_days, after.bar_colour) == ("Why", 35, "#a9b9c1")
        transaction.set_rollback(True)


def test_tags_and_what_was_put_away_come_along(maker: User):
    recipe = VersionFactory(name="Gravel Lane").recipe
    services.set_tags(recipe=recipe, names=["winter", "market"], by=maker)
    services.archive(recipe=recipe, by=maker)
    carried = file_of()
    empty_workshop()

    kept(carried, maker)

    again = Recipe.objects.get()
    assert ([tag.name for tag in again.tags.all()], again.archived) == (["market", "winter"], True)
    assert "Gravel Lane came from the file lane.json" in [line.what for line in history_of(again)]


def test_a_file_brought_again_changes_nothing(maker: User):
    for name in ("Gravel Lane", "Coal Barge"):
        VersionFactory(name=name)
    carried = file_of()
    before = History.objects.count()

    found = kept(carried, maker)

    assert {fate for _, fate in fates(found)} == {Fate.SAME}
    assert (Recipe.objects.count(), History.objects.count()) == (2, before)


def test_what_a_form_kept_of_another_size_makes_no_other_recipe(maker: User):
    mould = Mould(Decimal(250), Decimal(80), Decimal(60))
    VersionFactory(design=design(mould=mould))

    assert [fate for _, fate in fates(kept(file_of(), maker))] == [Fate.SAME]


def test_the_last_version_is_carried_and_an_earlier_one_when_it_is_asked_for(maker: User):
    version = VersionFactory(name="Gravel Lane", note="the first")
    services.mark_poured(version=version, pours=1, last_poured_at=version.made_at)
    services.save_version(
        recipe=version.recipe, name="Gravel Lane", design=design(), cure_days=28, note="the second", by=maker
    )

    assert b"the second" in file_of()
    assert b"the first" not in file_of()
    assert b"the first" in file_of(version)


# --- names --------------------------------------------------------------------------------------------------


def test_a_recipe_whose_name_is_taken_gets_a_number(maker: User):
    VersionFactory(name="gravel lane")

    found = kept(by_hand(), maker)

    assert (found.recipes[0].fate, found.recipes[0].renamed) == (Fate.ADDED, "Gravel Lane (2)")
    assert Recipe.objects.filter(name="Gravel Lane (2)").exists()


def test_a_file_sent_twice_counts_once_though_it_was_renamed(maker: User):
    VersionFactory(name="Gravel Lane")
    kept(by_hand(), maker)

    again = kept(by_hand(), maker)

    assert (again.recipes[0].fate, again.recipes[0].renamed) == (Fate.SAME, "Gravel Lane (2)")
    assert Recipe.objects.count() == 2


def test_a_long_name_makes_room_for_its_number(maker: User):
    VersionFactory(name="x" * 80)

    found = kept(by_hand(name="x" * 80), maker)

    assert found.recipes[0].renamed == "x" * 76 + " (2)"


def test_two_recipes_of_one_name_in_a_file_both_come(maker: User):
    file = by_hand()
    file["recipes"].append({**file["recipes"][0], "superfat_percent": 8})

    found = kept(file, maker)

    assert [one.renamed for one in found.recipes] == ["", "Gravel Lane (2)"]
    assert {fate for _, fate in fates(kept(file, maker))} == {Fate.SAME}


def test_only_what_is_wanted_is_kept(maker: User):
    file = by_hand()
    file["recipes"].append({**file["recipes"][0], "name": "Coal Barge"})

    found = kept(file, maker, only=range(1, 2))

    assert fates(found) == [("Gravel Lane", Fate.LEFT_OUT), ("Coal Barge", Fate.ADDED)]
    assert [recipe.name for recipe in Recipe.objects.all()] == ["Coal Barge"]


# --- materials ----------------------------------------------------------------------------------------------


def test_what_the_workshop_lacks_joins_the_catalogue_with_the_file_as_its_source(maker: User):
    found = kept(by_hand(), maker)

    tallow = Material.objects.get(name="Tallow")
    assert {one.name: one.added for one in found.materials} == {"Tallow": True, "Soda": True, "Water": True}
    assert (tallow.sap_low, tallow.sap_nominal, tallow.sap_high) == (184, 190, 196)
    assert tallow.sap_source == "from the file lane.json: a book"


def test_what_is_known_of_a_fat_beyond_its_lye_comes_along(maker: User):
    profile = {"C18:1": 72.5, "C16:0": 20.0}
    said = {"profile": profile, "origin": "animal", "density": Decimal("0.9"), "antioxidant": True}
    fat = part(100, MaterialFactory(name="Tallow", **said))
    carried = file_of(VersionFactory(design=design(fat, part(100, naoh=True), part(100, liquid=True))))
    empty_workshop()

    kept(carried, maker)

    tallow = Material.objects.get(name="Tallow")
    assert {name: getattr(tallow, name) for name in said} == said


@pytest.mark.parametrize(
    "here",
    [
        {"name": "TALLOW"},
        {"name": "Beef fat", "reference": "tallow"},
        {"name": "Beef fat", "inci_name": "ADEPS BOVIS"},
    ],
)
def test_a_material_is_known_by_name_key_or_inci_name(maker: User, here: dict[str, str]):
    ours, file = MaterialFactory(**here), by_hand()
    file["materials"][0] |= {"inci_name": "Adeps Bovis", "catalogue_key": "tallow"}

    found = kept(file, maker)

    assert (found.materials[0].material, found.materials[0].added) == (ours, False)
    assert Material.objects.filter(kind=Kind.FAT).count() == 1


def test_an_inci_name_that_two_have_tells_nothing(maker: User):
    for name in ("Olive oil", "Olive pomace oil"):
        MaterialFactory(name=name, inci_name="Olea Europaea Fruit Oil")
    file = by_hand()
    file["materials"][0]["inci_name"] = "Olea Europaea Fruit Oil"

    assert kept(file, maker).materials[0].added


def test_every_scent_is_parfum(maker: User):
    MaterialFactory(fragrance=True, name="Lavender", inci_name="Parfum")
    file = by_hand()
    file["materials"].append({"name": "Rose", "kind": "fragrance", "inci_name": "Parfum"})
    file["recipes"][0]["ingredients"].append({"material": "Rose", "amount": 2, "unit": "percent_of_fats"})

    assert Material.objects.filter(name="Rose").exists() is False
    assert kept(file, maker).materials[-1].material.name == "Rose"


def test_the_only_soda_that_there_is_is_meant_whatever_it_is_called(maker: User):
    ours = MaterialFactory(naoh=True, name="Sodium hydroxide beads")
    assert ours in [one.material for one in tried(by_hand(), maker).materials]

    MaterialFactory(naoh=True, name="Sodium hydroxide flakes")
    assert ours not in [one.material for one in tried(by_hand(), maker).materials]


@pytest.mark.parametrize("other", [{"koh": True}, {"naoh": True, "dissolved": True}, {"liquid": True}])
def test_one_alkali_is_never_taken_for_another(maker: User, other: dict[str, bool]):
    MaterialFactory(name="Soda", **other)

    found = kept(by_hand(), maker)

    soda = next(one for one in found.materials if one.name == "Soda")
    assert (soda.added, soda.material.name, soda.material.alkali) == (True, "Soda (2)", "naoh")


@pytest.mark.parametrize(
    ("name", "here", "words"),
    [
        ("Tallow", {"sap_low": 180}, "another saponification value: 184 to 196 mg KOH/g"),
        ("Soda", {"naoh": True, "purity_low": 90}, "another purity: 97 to 100 %"),
        ("Water", {"liquid": True, "water": 90}, "other contents"),
        ("Water", {"liquid": True, "water": 95, "acid": "acetic", "acid_least": 4}, "another acid"),
        ("Tallow", {}, ""),
    ],
)
def test_what_the_lye_hangs_on_and_differs_is_told(maker: User, name: str, here: dict[str, Any], words: str):
    MaterialFactory(name=name, **here)
    file = by_hand()
    if name == "Water":
        file["materials"][2] |= {
            "contents_g_per_100_g": {"water": 95},
            "acid": {"kind": "acetic", "least_percent": 5},
        }

    found = tried(file, maker)

    material = next(one for one in found.materials if one.name == name)
    assert not material.added
    assert words in material.differs
    assert bool(material.differs) == bool(words)


# --- what cannot be made ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"superfat_percent": 29.123}, "Superfat: Ensure that there are no more than 2 decimal places."),
        ({"liquid": {"lye_concentration_percent": 70}}, "Liquid: This must be from 5 to 60 %."),
        ({"size": {"each_fat_by_weight": True}}, "“percent_of_fats”; here it must be “g”"),
        ({"name": "x" * 80, "bars": 2000, "size": {"fats_g": 0.001}}, ""),
    ],
)
def test_what_cannot_be_made_says_why_and_leaves_nothing(maker: User, changed: dict[str, Any], why: str):
    found = kept(by_hand(**changed), maker)

    assert found.recipes[0].fate == Fate.REFUSED
    assert why in found.recipes[0].why
    assert found.recipes[0].why
    assert found.materials == ()
    assert not Material.objects.exists()
    assert not Recipe.objects.exists()


def test_a_recipe_that_cannot_be_made_keeps_no_other_from_coming(maker: User):
    file = by_hand(liquid={"liquid_percent_of_fats": 1})
    file["recipes"].append({**by_hand()["recipes"][0], "name": "Coal Barge"})

    found = kept(file, maker)

    assert fates(found) == [("Gravel Lane", Fate.REFUSED), ("Coal Barge", Fate.ADDED)]
    assert [one.name for one in found.added] == ["Coal Barge"]
    assert {one.name for one in found.materials} == {"Tallow", "Soda", "Water"}


def test_a_material_that_the_file_does_not_describe_is_named(maker: User):
    file = by_hand()
    file["materials"].pop(0)

    assert kept(file, maker).recipes[0].why == "“tallow” is not among the materials of the file."


def test_a_material_that_cannot_be_kept_is_named_with_the_reason(maker: User):
    file = by_hand()
    file["materials"][0]["saponification_mg_koh_per_g"] = {"low": 196, "usual": 190, "high": 184}

    assert kept(file, maker).recipes[0].why.startswith("Tallow: ")


def test_a_liquid_with_a_fat_that_nobody_knows_is_not_taken_for_water(maker: User):
    file = by_hand()
    file["materials"][2]["contents_g_per_100_g"] = {"water": 80, "fat": 10, "fat_key": "unicorn"}

    assert "which fat is in Water" in kept(file, maker).recipes[0].why


# --- trying it out ------------------------------------------------------------------------------------------


def test_what_is_tried_out_is_what_is_done_and_leaves_nothing(maker: User):
    VersionFactory(name="Gravel Lane")
    before = (Recipe.objects.count(), Material.objects.count(), History.objects.count())

    found = tried(by_hand(), maker)

    assert (Recipe.objects.count(), Material.objects.count(), History.objects.count()) == before
    assert fates(found) == fates(kept(by_hand(), maker))


def test_a_viewer_brings_nothing_in(viewer: User):
    with pytest.raises(PermissionDenied):
        kept(by_hand(), viewer)
    with pytest.raises(PermissionDenied):
        tried(by_hand(), viewer)
