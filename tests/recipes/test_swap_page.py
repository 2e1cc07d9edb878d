"""The page for a fat that has run out: what may stand in for it, what changes, and how a recipe begins."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Material
from recipes.design import Mould, Part
from recipes.models import Version
from tests.bad_input import EVERYTHING
from tests.factories import (
    LotFactory,
    MaterialFactory,
    MouldFactory,
    VersionFactory,
    WorkshopFactory,
    design,
    into,
    part,
    portion,
)
from tests.recipes.catalogue import fat
from tests.recipes.typed import rows

pytestmark = pytest.mark.django_db


@pytest.fixture
def palm() -> Material:
    return fat("palm")


@pytest.fixture
def version(palm) -> Version:
    """A third each of olive, coconut and palm, as near as thousandths come to it; no palm on the shelf."""
    parts = part("33.333", fat("olive", 8)), part("33.333", fat("coconut", 5)), part("33.334", palm)
    return VersionFactory(design=design(*parts, part(100, naoh=True), part(100, liquid=True)))


def url(version: Version) -> str:
    return reverse("recipes:swap", args=[version.recipe_id])


def test_a_recipe_leads_to_the_swap_of_each_fat(client_of, viewer, version, palm):
    page = client_of(viewer).get(reverse("recipes:recipe", args=[version.recipe_id])).text

    assert f"{url(version)}?material={palm.pk}&amp;version=1" in page
    assert f"{reverse('recipes:blend')}?recipe={version.recipe_id}" in page


def test_the_nearest_from_stock_says_what_changes(client_of, maker, version, palm):
    lard = fat("lard", 3)

    answer = client_of(maker).get(url(version), {"material": palm.pk})

    ways = answer.context["ways"]
    assert 1 <= len(ways) <= 5
    assert any(lard.name in way.name for way in ways)
    changes = " ".join(change for way in ways for change in way.changes)
    for words in ("Sodium hydroxide", "points more", "in iodine value", "list of ingredients"):
        assert words in changes
    assert "enough on hand" in answer.text


def test_the_whole_catalogue_tells_what_is_to_buy(client_of, maker, version, palm):
    tallow = fat("tallow_beef")
    client = client_of(maker)

    stock = client.get(url(version), {"material": palm.pk}).context["ways"]
    answer = client.get(url(version), {"material": palm.pk, "whole": ""})

    assert not any(tallow.name in way.name for way in stock)
    assert any(tallow.name in way.name and not way.enough for way in answer.context["ways"])
    assert "to buy" in answer.text


def test_a_version_and_a_recipe_begin_with_the_swap(client_of, maker, version, palm):
    lard = fat("lard", 3)
    client = client_of(maker)
    answer = client.get(url(version), {"material": palm.pk})
    way = next(way for way in answer.context["ways"] if way.name == lard.name)

    edit = client.get(
        f"{reverse('recipes:edit', args=[version.recipe_id])}?from=1&{way.rows}&note=Without+palm"
    )
    add = client.get(f"{reverse('recipes:add')}?copy={version.pk}&{way.rows}")

    for page in (edit, add):
        fats = dict(rows(page.context["form"], "fats"))
        assert fats[str(lard.pk)] == "33.334"
        assert str(palm.pk) not in fats
        assert sum(map(Decimal, fats.values())) == 100
        assert page.context["result"].sheet is not None
    assert edit.context["form"]["note"].value() == "Without palm"
    assert edit.context["form"]["seen"].value() == version.stamp
    assert add.context["form"]["name"].value().endswith("(copy)")
    assert "Begin a version with it" in answer.text


def test_a_swap_keeps_the_portions_and_the_mould(client_of, maker, version, palm):
    lard, client, loaf = fat("lard", 3), client_of(maker), MouldFactory()
    split = portion("White"), portion("Rose", into(1), share=40)
    parts = [Part(one.material, one.amount) for one in version.ingredients.all()]
    said = {"size_by": "mould", "size_grams": None, "mould": Mould(None, None, Decimal(50), loaf)}
    version = VersionFactory(design=design(*parts, portions=split, **said))
    ways = client.get(url(version), {"material": palm.pk}).context["ways"]
    way = next(way for way in ways if way.name == lard.name)

    for begun in (
        f"{reverse('recipes:edit', args=[version.recipe_id])}?from=1&{way.rows}",
        f"{reverse('recipes:add')}?copy={version.pk}&{way.rows}",
    ):
        made = client.get(begun).context["result"].sheet.worked_out.design
        assert (made.portions, made.mould) == (split, said["mould"])
        assert lard in made.materials
        assert palm not in made.materials


def test_a_fat_of_the_recipe_itself_takes_a_larger_share(client_of, maker):
    mild, other = fat("sunflower_high_oleic"), fat("olive", 8, quantity=5000)
    fats = part(400, mild), part(600, other)
    version = VersionFactory(
        design=design(*fats, part(100, naoh=True), part(100, liquid=True), size_by="weights")
    )

    ways = client_of(maker).get(url(version), {"material": mild.pk}).context["ways"]

    assert [way.name for way in ways] == [other.name]
    assert ways[0].steps[0].grams == 1000
    assert ways[0].rows == f"fats-material={other.pk}&fats-amount=1000"


def test_two_fats_share_the_gap_to_the_last_thousandth(client_of, maker, version, palm):
    fat("cocoa_butter", 15)
    fat("rice_bran", 6)

    ways = client_of(maker).get(url(version), {"material": palm.pk}).context["ways"]

    assert any(len(way.steps) == 2 for way in ways)
    for way in ways:
        amounts = [pair.partition("=")[2] for pair in way.rows.split("&") if "amount" in pair]
        assert sum(map(Decimal, amounts)) == 100


def test_viewers_look_but_begin_nothing(client_of, viewer, version, palm):
    assert "Begin a" not in client_of(viewer).get(url(version), {"material": palm.pk}).text


def test_nothing_in_stock_offers_the_whole_catalogue(client_of, maker):
    palm, other = fat("palm"), fat("olive")
    fats = part(50, palm), part(50, other)
    version = VersionFactory(design=design(*fats, part(100, naoh=True), part(100, liquid=True)))

    answer = client_of(maker).get(url(version), {"material": palm.pk})

    assert "Nothing stands in for it" in answer.text


def test_a_fat_whose_fatty_acids_are_not_known_cannot_be_compared(client_of, maker):
    own = MaterialFactory(name="Tin of something")
    version = VersionFactory(design=design(part(100, own), part(100, naoh=True), part(100, liquid=True)))

    answer = client_of(maker).get(url(version), {"material": own.pk})

    assert "The fatty acids of Tin of something are not known" in answer.text


def test_a_recipe_that_no_longer_works_out_says_why(client_of, maker, version, palm):
    Material.objects.filter(pk=palm.pk).update(sap_low=None, sap_nominal=None, sap_high=None)

    answer = client_of(maker).get(url(version), {"material": palm.pk})

    assert f"{palm.name} has no saponification value yet" in answer.text


@pytest.mark.parametrize("value", EVERYTHING)
def test_an_address_that_names_no_fat_of_it_asks_which(client_of, maker, version, value):
    answer = client_of(maker).get(url(version), {"material": value})

    assert answer.status_code == 200
    assert "Which fat have you run out of?" in answer.text


def test_a_version_that_is_none_is_not_found(client_of, maker, version):
    assert client_of(maker).get(url(version), {"version": "9"}).status_code == 404


def test_the_database_is_asked_as_often_for_many_fats_as_for_few(client_of, maker, version, palm):
    WorkshopFactory()
    client = client_of(maker)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            assert client.get(url(version), {"material": palm.pk}).context["ways"]
        return len(asked)

    few = queries()
    for key in ("lard", "castor", "sunflower", "corn", "sesame", "hemp"):
        LotFactory(material=fat(key), quantity=1000, cost=4)

    assert queries() == few <= 15
