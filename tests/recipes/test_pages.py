"""The pages of recipes: who may see and do what, what is saved, and how often they ask the database."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from recipes import services
from recipes.models import Recipe, Version
from soapshop.core.models import User
from tests.factories import LotFactory, MaterialFactory, VersionFactory, WorkshopFactory, design, part
from tests.recipes.typed import fats_of, rows, typed

pytestmark = pytest.mark.django_db

ADD = reverse("recipes:add")


def url(name: str, version: Version) -> str:
    return reverse(f"recipes:{name}", args=[version.recipe_id])


def poured(version: Version) -> Version:
    services.mark_poured(version=version, pours=1, last_poured_at=timezone.now())
    return version


def test_the_list_shows_recipes_and_how_often_they_were_poured(client_of, viewer):
    poured(VersionFactory(name="Gravel Lane"))

    page = client_of(viewer).get(reverse("recipes:list")).content.decode()

    assert "Gravel Lane" in page
    assert "version 1, poured once" in page
    assert ADD not in page


def test_an_empty_list_offers_the_first_step(client_of, maker, viewer):
    assert ADD in client_of(maker).get(reverse("recipes:list")).content.decode()
    assert ADD not in client_of(viewer).get(reverse("recipes:list")).content.decode()


@pytest.mark.parametrize(
    "query", ["?q=zzz", "?archived", "?page=999", "?page=x", "?q=%00", "?q=" + "a" * 2000]
)
def test_any_question_to_the_list_is_answered(client_of, maker, query: str):
    VersionFactory()

    assert client_of(maker).get(reverse("recipes:list") + query).status_code == 200


def test_a_search_while_typing_gets_the_results_only(client_of, maker):
    VersionFactory(name="Gravel Lane")

    part_of_page = client_of(maker).get(
        reverse("recipes:list"), {"q": "lane"}, headers={"HX-Request": "true"}
    )

    assert part_of_page.content.decode().strip().startswith('<div id="results"')


def test_a_recipe_shows_what_to_weigh_and_what_is_short(client_of, viewer):
    fat = MaterialFactory(name="Palm oil")
    version = VersionFactory(design=design(part(100, fat), part(100, naoh=True), part(100, liquid=True)))
    LotFactory(material=fat, quantity=900, cost=9)

    page = client_of(viewer).get(url("recipe", version)).content.decode()

    assert "900\u00a0g, 100\u00a0g short" in " ".join(page.split(" ")).replace("\n", "")
    assert "Safe" in page
    assert "Cost a bar" in page
    assert url("edit", version) not in page


def test_a_maker_goes_on_to_a_pour_from_a_recipe(client_of, maker):
    version = VersionFactory()

    page = client_of(maker).get(url("recipe", version)).content.decode()

    assert reverse("batches:plan", args=[version.pk]) in page
    assert url("edit", version) in page


def test_figures_of_a_recipe_open(client_of, maker):
    page = client_of(maker).get(url("recipe", VersionFactory())).content.decode()

    for name in (
        "Alkali, before",
        "Liquid, before",
        "Superfat, as",
        "Lye concentration",
        "Lye solution",
        "Batter",
        "Bars, fresh",
        "Cost a bar",
        "Cure, as is usual here",
    ):
        assert f"<span>{name}" in page
    assert "ISO 3657" in page


def test_an_earlier_version_is_shown_and_can_be_started_from(client_of, maker):
    version = poured(VersionFactory(note="the first"))
    services.save_version(
        recipe=version.recipe, name="Fog", design=design(), cure_days=28, note="the second", by=maker
    )
    client = client_of(maker)

    page = client.get(reverse("recipes:version", args=[version.recipe_id, 1])).content.decode()
    form = client.get(url("edit", version), {"from": "1"}).context["form"]

    assert "The last one is version 2" in page
    assert "edit/?from=1" in page
    assert form["note"].value() == ""
    assert rows(form, "fats") == [(str(version.ingredients.first().material_id), "100")]


@pytest.mark.parametrize("path", ["99/", "99/v/1/", "99/edit/"])
def test_a_recipe_that_is_not_there_is_not_found(client_of, maker, path: str):
    assert client_of(maker).get(f"/recipes/{path}").status_code == 404


@pytest.mark.parametrize("query", ["?from=2", "?from=99999999"])
def test_a_version_that_is_not_there_is_not_found(client_of, maker, query: str):
    version = VersionFactory()

    assert client_of(maker).get(url("edit", version) + query).status_code == 404
    assert client_of(maker).get(f"{url('recipe', version)}v/2/").status_code == 404


@pytest.mark.parametrize("query", ["?copy=999", "?copy=" + "9" * 40])
def test_a_copy_of_nothing_is_not_found(client_of, maker, query: str):
    assert client_of(maker).get(ADD + query).status_code == 404


def test_a_viewer_changes_nothing(client_of, viewer):
    version, client, form = VersionFactory(), client_of(viewer), typed()

    for answer in (
        client.get(ADD),
        client.post(ADD, form()),
        client.get(url("edit", version)),
        client.post(url("edit", version), form()),
        client.post(url("archive", version)),
        client.post(reverse("recipes:preview"), form()),
    ):
        assert answer.status_code == 403
    assert Recipe.objects.count() == 1


def test_a_new_recipe_begins_with_lye_and_water(client_of, maker):
    form = typed()

    shown = client_of(maker).get(ADD).context["form"]

    assert rows(shown, "fats") == [("", "")] * 3
    assert rows(shown, "alkalis") == [(str(form.lye.pk), "100")]
    assert rows(shown, "liquids") == [(str(form.water.pk), "100")]
    assert shown["cure_days"].value() is None


def test_a_new_recipe_in_an_empty_workshop_has_room_for_all(client_of, maker):
    shown = client_of(maker).get(ADD).context["form"]

    assert rows(shown, "alkalis") == [("", "100")]


def test_packaging_is_counted_by_the_bar(client_of, maker):
    wrap = MaterialFactory(packaging=True, name="Kraft wrap")
    client = client_of(maker)

    client.post(ADD, typed()(packaging=[(wrap, "2")]))

    page = client.get(url("recipe", Version.objects.get())).content.decode()
    assert "2 a bar" in page
    assert "20\N{NO-BREAK SPACE}pcs" in page


def test_a_figure_names_the_certificate_it_rests_on(client_of, maker):
    form, client = typed(), client_of(maker)
    client.post(ADD, form())
    lot = LotFactory(material=form.lye, purity=Decimal(98), purity_uncertainty=Decimal("0.5"))

    page = client.get(url("recipe", Version.objects.get())).content.decode()

    assert f"certificate of lot {lot.code}" in page
    assert "97.5 to 98.5 % pure" in page


def test_a_recipe_is_written_down(client_of, maker):
    form = typed()

    answer = client_of(maker).post(ADD, form(note="Because of the fog.", superfat="6,5"))

    version = Version.objects.get()
    assert answer.status_code == 302
    assert answer.url == url("recipe", version)
    assert fats_of(version) == {"Olive oil": "70", "Coconut oil": "30"}
    assert (version.superfat, version.note, version.bar_colour) == (
        Decimal("6.5"),
        "Because of the fog.",
        "#a9b9c1",
    )


def test_weights_are_typed_in_any_unit(client_of, maker):
    form = typed()
    fats = [(form.olive, "1 lb 8 oz"), (form.coconut, "0,3 kg")]

    client_of(maker).post(ADD, form(fats=fats, size_by="weights", size_grams=""))

    assert fats_of(Version.objects.get()) == {"Olive oil": "680.39", "Coconut oil": "300"}


def test_empty_rows_are_left_out(client_of, maker):
    form = typed()
    fats = [("", ""), (form.olive, "100"), ("", "")]

    client_of(maker).post(ADD, form(fats=fats, fragrances=[("", "")]))

    assert fats_of(Version.objects.get()) == {"Olive oil": "100"}


def test_a_recipe_has_a_mould(client_of, maker):
    size = {"mould_length": "30 cm", "mould_width": "90", "mould_height": "2.5 in"}

    client_of(maker).post(ADD, typed()(size_by="mould", size_grams="nonsense", **size))

    version = Version.objects.get()
    assert (version.mould_length, version.mould_width, version.mould_height) == (300, 90, Decimal("63.5"))
    assert version.size_grams is None


def test_the_form_of_a_change_shows_what_is_there(client_of, maker):
    form, client = typed(), client_of(maker)
    client.post(ADD, form(note="first"))
    version = Version.objects.get()

    shown = client.get(url("edit", version)).context["form"]

    assert shown["name"].value() == "Gravel Lane"
    assert shown["note"].value() == "first"
    assert shown["seen"].value() == version.stamp
    assert rows(shown, "fats") == [(str(form.olive.pk), "70"), (str(form.coconut.pk), "30")]


def test_a_change_of_a_poured_version_makes_the_next(client_of, maker):
    form, client = typed(), client_of(maker)
    client.post(ADD, form())
    version = poured(Version.objects.get())

    seen = client.get(url("edit", version)).context["form"]["seen"].value()
    client.post(url("edit", version), form(superfat="7", seen=seen))

    assert list(version.recipe.versions.values_list("number", "superfat")) == [(2, 7), (1, 5)]


def test_of_two_who_change_a_recipe_at_once_the_second_is_told_and_loses_nothing(client_of, maker, owner):
    form = typed()
    client_of(maker).post(ADD, form())
    version = Version.objects.get()
    seen = version.stamp
    client_of(owner).post(url("edit", version), form(note="theirs", seen=seen))

    answer = client_of(maker).post(url("edit", version), form(note="mine", seen=seen))

    page = answer.content.decode()
    assert answer.status_code == 422
    assert f"{owner} saved version 1" in page
    assert ">\nmine</textarea>" in page
    assert Version.objects.get().note == "theirs"

    again = client_of(maker).post(
        url("edit", version), form(note="mine", seen=answer.context["form"]["seen"].value())
    )
    assert again.status_code == 302
    assert Version.objects.get().note == "mine"


def test_a_copy_is_a_new_recipe_of_the_same(client_of, maker):
    form, client = typed(), client_of(maker)
    client.post(ADD, form(fragrances=[(MaterialFactory(fragrance=True), "3")]))
    version = Version.objects.get()

    shown = client.get(ADD, {"copy": version.pk}).context["form"]

    assert shown["name"].value() == "Gravel Lane (copy)"
    assert not shown["note"].value()
    assert [amount for _, amount in rows(shown, "fragrances")] == ["3"]


def test_a_copy_that_is_kept_says_what_it_was_begun_from(client_of, maker):
    form, client = typed(), client_of(maker)
    client.post(ADD, form())
    version = poured(Version.objects.get())

    client.post(f"{ADD}?copy={version.pk}", form(name="Gravel Mist", superfat="7"))

    copy = Version.objects.get(recipe__name="Gravel Mist")
    page = client.get(url("recipe", copy)).content.decode()
    assert copy.begun_from == version
    assert f'<a href="{url("recipe", version)}v/1/">Gravel Lane, version 1</a>' in page


def test_a_recipe_is_put_away_and_brought_back(client_of, maker):
    version, client = VersionFactory(), client_of(maker)

    client.post(url("archive", version))
    assert Recipe.objects.get().archived
    assert "put away" in client.get(url("recipe", version)).content.decode()
    client.post(url("archive", version), {"back": ""})
    assert not Recipe.objects.get().archived


def test_a_recipe_whose_fat_lost_its_value_says_so(client_of, maker):
    version = VersionFactory()
    fat = version.ingredients.get(material__kind="fat").material
    fat.sap_low = fat.sap_nominal = fat.sap_high = None
    fat.save()

    page = client_of(maker).get(url("recipe", version)).content.decode()

    assert "has no saponification value yet" in page
    assert reverse("batches:plan", args=[version.pk]) not in page


def test_a_material_put_away_stays_in_the_recipes_that_have_it(client_of, maker):
    form, client = typed(), client_of(maker)
    client.post(ADD, form())
    form.olive.archived = True
    form.olive.save()
    version = Version.objects.get()

    assert "Olive oil" in client.get(url("edit", version)).content.decode()
    assert client.post(url("edit", version), form(note="still")).status_code == 302


def long_recipe(length: int, by: User) -> Version:
    """A recipe of so many fats, each on the shelf, in so many versions."""
    fats = [part(Decimal(100) / length) for _ in range(length)]
    what = design(*fats, part(100, naoh=True), part(100, liquid=True))
    for one in what.parts:
        LotFactory(material=one.material)
    version = VersionFactory(design=what, name=f"Of {length}")
    said = {"recipe": version.recipe, "name": f"Of {length}", "cure_days": 28, "by": by}
    for bars in range(1, length):
        poured(version)
        version = services.save_version(design=replace(what, bars=bars), **said)
    return version


@pytest.mark.parametrize("name", ["recipe", "edit"])
def test_a_page_asks_as_often_for_twenty_materials_as_for_ten(client_of, maker, name: str):
    WorkshopFactory()
    client, asked = client_of(maker), set()
    for length in (10, 20):
        version = long_recipe(length, maker)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(url(name, version)).status_code == 200
        asked.add(len(queries))

    assert len(asked) == 1
    assert asked.pop() <= 14
