"""What the pages read: lists, versions, stock against need, cost; and how often they ask the database."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from recipes import queries, services
from recipes.design import Design
from recipes.formulation import Size, work_out
from recipes.models import Version
from recipes.queries import Need, Sheet
from soapshop.core.models import Workshop
from tests.factories import LotFactory, MaterialFactory, UserFactory, VersionFactory, design, part

pytestmark = pytest.mark.django_db


def sheet_of(what: Design) -> Sheet:
    return queries.sheet(what, workshop=Workshop(), day=timezone.localdate())


def need_of(sheet: Sheet, name: str) -> Need:
    return next(need for need in sheet.needs if need.material.name == name)


def simple(**fat: object) -> Design:
    """1 kg of one fat named Tallow."""
    tallow = MaterialFactory(name="Tallow", **fat)
    return design(part(100, tallow), part(100, naoh=True, name="Lye"), part(100, liquid=True, name="Water"))


def pour(version: Version, times: int, days_ago: int) -> None:
    at = timezone.now() - timedelta(days=days_ago)
    services.mark_poured(version=version, pours=times, last_poured_at=at)


def test_a_recipe_stands_in_the_list_by_its_last_version():
    first = VersionFactory(name="Gravel Lane")
    pour(first, 2, days_ago=30)
    services.save_version(
        recipe=first.recipe, name="Gravel Lane", design=design(), cure_days=28, note="x", by=first.made_by
    )

    row = queries.recipe_rows()[0]

    assert (row.version.number, row.pours, row.words) == (2, 2, "version 2, poured twice")
    assert row.last.startswith("last poured ")


def test_recipes_are_found_by_name_and_apart_from_those_put_away(maker):
    lane, barge = VersionFactory(name="Gravel Lane"), VersionFactory(name="Coal Barge")
    services.archive(recipe=barge.recipe, by=maker)

    assert [row.recipe for row in queries.recipe_rows()] == [lane.recipe]
    assert [row.recipe for row in queries.recipe_rows(archived=True)] == [barge.recipe]
    assert [row.recipe for row in queries.recipe_rows(search="VEL L")] == [lane.recipe]
    assert not queries.recipe_rows(search="barge").object_list


def test_recipes_come_in_pages_by_name():
    for name in ("b", "C", "a"):
        VersionFactory(name=name)

    assert [row.recipe.name for row in queries.recipe_rows(per_page=2)] == ["a", "b"]
    assert [row.recipe.name for row in queries.recipe_rows(per_page=2, page="2")] == ["C"]


@pytest.mark.parametrize("count", [10, 20])
def test_a_list_asks_four_times_however_long_it_is(count: int, django_assert_num_queries):
    for _ in range(count):
        services.set_tags(recipe=VersionFactory().recipe, names=["winter", "market"], by=UserFactory())

    with django_assert_num_queries(4):
        rows = [row.words for row in queries.recipe_rows()]

    assert len(rows) == count


@pytest.mark.parametrize("count", [10, 20])
def test_a_sheet_asks_twice_however_many_materials_it_has(count: int, django_assert_num_queries):
    fats = [part(Decimal(100) / count) for _ in range(count)]
    what = design(*fats, part(100, naoh=True), part(100, liquid=True))
    for one in what.parts:
        LotFactory(material=one.material, quantity=100)
        LotFactory(material=one.material, quantity=100)

    with django_assert_num_queries(2):
        sheet_of(what)


def test_what_the_shelf_lacks_is_told_by_how_much():
    what = simple()
    LotFactory(material=what.parts[0].material, quantity=900, cost=9)

    need = need_of(sheet_of(what), "Tallow")

    assert (need.needed, need.on_hand, need.short) == (1000, 900, 100)


def test_lots_go_first_to_expire_and_an_expired_one_does_not_count():
    what, today = simple(), timezone.localdate()
    tallow = what.parts[0].material
    late = LotFactory(material=tallow, quantity=800, best_before=today + timedelta(days=90))
    soon = LotFactory(material=tallow, quantity=300, best_before=today + timedelta(days=9))
    bygone = {"received_on": today - timedelta(days=9), "best_before": today - timedelta(days=1)}
    LotFactory(material=tallow, quantity=500, **bygone)

    need = need_of(sheet_of(what), "Tallow")

    assert need.portions == ((soon, Decimal(300)), (late, Decimal(700)))
    assert need.on_hand == 1100


def test_needs_are_those_of_the_size_that_is_asked_for():
    what = simple()
    LotFactory(material=what.parts[0].material, quantity=900)

    needs = queries.needs(work_out(what, workshop=Workshop(), size=Size(bars=5)), timezone.localdate())

    assert (needs[0].needed, needs[0].short) == (500, 0)


def test_a_bar_costs_what_its_lots_cost():
    """1,000 g of tallow, 300 g of them at 2 cents and 700 g at 1 cent, are 13.00; lye is half a cent."""
    what, today = simple(), timezone.localdate()
    tallow, lye, water = (one.material for one in what.parts)
    LotFactory(material=tallow, quantity=300, cost=6, best_before=today + timedelta(days=9))
    LotFactory(material=tallow, quantity=1000, cost=10)
    LotFactory(material=lye, quantity=1000, cost=5)
    LotFactory(material=water, quantity=1000, cost=0)

    sheet = sheet_of(what)

    lye_grams = need_of(sheet, "Lye").needed
    assert sheet.cost.total == 13 + lye_grams * Decimal("0.005")
    assert sheet.cost.bar == sheet.cost.total / 10
    assert sheet.cost.unpriced == ()
    assert queries.cost(sheet.needs, 10) == sheet.cost


def test_what_the_shelf_lacks_costs_what_was_paid_last():
    what, today = simple(), timezone.localdate()
    tallow = what.parts[0].material
    LotFactory(material=tallow, quantity=400, cost=4, received_on=today - timedelta(days=9))
    expired = {"received_on": today - timedelta(days=2), "best_before": today - timedelta(days=1)}
    LotFactory(material=tallow, quantity=100, cost=3, **expired)

    line = sheet_of(what).cost.lines[0]

    assert line.amount == 4 + 600 * Decimal("0.03")
    assert "last paid" in line.source


def test_a_material_without_a_price_is_named():
    sheet = sheet_of(simple())

    assert {material.name for material in sheet.cost.unpriced} == {"Tallow", "Lye", "Water"}
    assert sheet.cost.total == 0


def test_packaging_counts_for_every_bar():
    what = simple()
    wrap = MaterialFactory(packaging=True, name="Wrap")
    LotFactory(material=wrap, quantity=100, cost=50)

    sheet = sheet_of(design(*what.parts, part(2, wrap)))

    line = next(one for one in sheet.cost.lines if one.need.material == wrap)
    assert (line.need.needed, line.amount) == (20, 10)


def test_the_first_lot_gives_its_certificate():
    what = simple()
    tallow = what.parts[0].material
    LotFactory(material=tallow, quantity=2000, sap=Decimal(195), sap_uncertainty=Decimal(1))

    assert need_of(sheet_of(what), "Tallow").line.sap.nominal == 195


def test_a_sheet_falls_into_sections_of_what_belongs_together():
    what = simple()
    whole = design(*what.parts, part(1, colour_=True), part(1, fragrance=True), part(1, packaging=True))

    titles = [(section.title, len(section.needs)) for section in sheet_of(whole).sections]

    assert titles == [("Fat", 1), ("Lye", 2), ("Scent, colour, additives", 2), ("Packaging", 1)]


def test_shares_are_said_as_the_recipe_says_them():
    what = design(
        part(100),
        part(60, naoh=True, name="Soda"),
        part(40, koh=True, name="Potash"),
        part(100, liquid=True, name="Water"),
        part(2, packaging=True, name="Wrap"),
    )

    shares = {need.material.name: need.share for need in sheet_of(what).needs}

    assert (shares["Soda"], shares["Water"], shares["Wrap"]) == ("60 % of alkali", "", "2 a bar")


def test_a_catalogue_holds_what_is_in_use_and_what_is_asked_for(django_assert_num_queries):
    kept, gone, wanted = MaterialFactory(), MaterialFactory(archived=True), MaterialFactory(archived=True)

    with django_assert_num_queries(2):
        fats = queries.catalogue(also=[wanted.pk]).of("fat")

    assert set(fats) == {kept, wanted}
    assert gone not in fats


def test_a_version_that_is_not_there_is_not_found():
    recipe = VersionFactory().recipe

    assert queries.recipe_page(recipe, 1).is_latest
    with pytest.raises(Version.DoesNotExist):
        queries.recipe_page(recipe, 2)
