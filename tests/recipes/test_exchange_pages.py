"""The pages on which recipes are carried out and in."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.models import Material
from recipes.design import Mould
from recipes.models import AmountBy, Recipe, Version
from recipes.services.moulds import note_fill
from tests.bad_input import NUL, SCRIPT, TOO_LONG
from tests.factories import (
    LotFactory,
    MaterialFactory,
    MouldFactory,
    VersionFactory,
    design,
    into,
    part,
    portion,
)
from tests.recipes.carried import by_hand, content, split_by_hand

pytestmark = pytest.mark.django_db

IMPORT, LIST = reverse("recipes:import"), reverse("recipes:list")


def upload(found: Any, name: str = "lane.json") -> dict[str, Any]:
    whole = found if isinstance(found, bytes) else content(found)
    return {"file": SimpleUploadedFile(name, whole, "application/json")}


def looked_at(client, found: Any, **said: str) -> dict[str, Any]:
    """The form of the page that shows what a file brings, with all that it has ticked."""
    page = client.post(IMPORT, upload(found, **said))
    assert page.status_code == 200
    kept = page.context["kept"]
    return page.context["form"].initial | {"take": [one.index for one in kept.added]}


def carried(name: str, version: Version) -> str:
    return reverse(f"recipes:{name}", args=[version.recipe_id, version.number])


def rows_of(answer) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


# --- out ----------------------------------------------------------------------------------------------------


def test_a_version_is_saved_as_a_file(client_of, viewer):
    version = VersionFactory(name="Größe & Güte")

    answer = client_of(viewer).get(carried("version_json", version))

    assert answer["Content-Type"] == "application/json"
    assert answer["Content-Disposition"] == 'attachment; filename="groe-gute-1.json"'
    assert json.loads(answer.content)["recipes"][0]["name"] == "Größe & Güte"


def test_a_name_that_no_file_can_have_is_left_out_of_its_name(client_of, viewer):
    answer = client_of(viewer).get(carried("version_json", VersionFactory(name="🧼")))

    assert answer["Content-Disposition"] == 'attachment; filename="recipe-1.json"'


def test_all_recipes_are_saved_in_one_file_in_few_queries(client_of, viewer, django_assert_max_num_queries):
    for name in ("b", "a", "c"):
        VersionFactory(name=name)
    client = client_of(viewer)

    with django_assert_max_num_queries(9):
        found = json.loads(client.get(reverse("recipes:all_json")).content)

    assert [recipe["name"] for recipe in found["recipes"]] == ["a", "b", "c"]


def test_a_table_has_a_row_for_each_line_of_the_card(client_of, viewer):
    olive = MaterialFactory(name="Olive oil")
    lye = part(100, naoh=True, name="Soda")
    what = design(part("62.5", olive), part("37.5"), lye, part(100, liquid=True), part(2, packaging=True))
    version = VersionFactory(name="Gravel Lane", design=what)
    LotFactory(material=lye.material, purity=Decimal(90), purity_uncertainty=Decimal(1))

    rows = rows_of(client_of(viewer).get(carried("version_csv", version)))

    assert list(rows[0]) == [
        "recipe",
        "version",
        "kind",
        "material",
        "stage",
        "share",
        "unit",
        "grams",
        "pieces",
        "portion",
    ]
    assert list(rows[0].values()) == [
        "Gravel Lane", "1", "fat", "Olive oil", "", "62.5", "percent_of_fats", "625.00", "", "",
    ]  # fmt: skip
    shown = client_of(viewer).get(reverse("recipes:recipe", args=[version.recipe_id])).content.decode()
    assert f"{Decimal(rows[2]['grams']).normalize():f}\u00a0g" in shown
    assert (rows[4]["unit"], rows[4]["grams"], rows[4]["pieces"]) == ("pieces_per_bar", "", "20")


def test_what_goes_into_portions_stands_last_in_the_table(client_of, viewer):
    clay = MaterialFactory(colour_=True, name="Rose clay")
    split = portion("White"), portion("=Rose", into(5, clay, AmountBy.WEIGHT), grams=200)
    scent = part(2, fragrance=True)
    version = VersionFactory(name="Gravel Lane", design=design(*design().parts, scent, portions=split))

    *others, last = rows_of(client_of(viewer).get(carried("version_csv", version)))

    assert list(last.values()) == [
        "Gravel Lane", "1", "colour", "Rose clay", "jug", "5", "percent_of_portion", "10.00", "", "'=Rose",
    ]  # fmt: skip
    assert {row["portion"] for row in others} == {""}
    assert others[-1]["grams"] == "20.00"


def test_the_weights_of_the_table_are_those_that_earlier_pours_have_taught(client_of, viewer):
    mould = MouldFactory()
    version = VersionFactory(
        design=design(size_by="mould", size_grams=None, mould=Mould(None, None, Decimal(50), mould))
    )
    client = client_of(viewer)
    before = rows_of(client.get(carried("version_csv", version)))[0]["grams"]
    height, at = Decimal(50), version.made_at
    note_fill(batch="26-0001", version=version, mould=mould, grams=Decimal(1200), height=height, at=at)

    after = rows_of(client.get(carried("version_csv", version)))[0]["grams"]

    assert Decimal(after) > Decimal(before)
    shown = client.get(reverse("recipes:recipe", args=[version.recipe_id])).context["result"].sheet
    assert f"{shown.worked_out.fat_grams}" == after


def test_a_split_recipe_that_cannot_be_worked_out_has_no_weights_either(client_of, viewer):
    version = VersionFactory(design=design(portions=(portion("White"), portion("Rose", into(1), share=40))))
    Material.objects.filter(kind="fat").update(sap_low=None, sap_nominal=None, sap_high=None)

    assert {row["grams"] for row in rows_of(client_of(viewer).get(carried("version_csv", version)))} == {""}


def test_a_recipe_that_cannot_be_worked_out_has_no_weights_in_the_table(client_of, viewer):
    version = VersionFactory()
    Material.objects.filter(kind="fat").update(sap_low=None, sap_nominal=None, sap_high=None)

    rows = rows_of(client_of(viewer).get(carried("version_csv", version)))

    assert {row["grams"] for row in rows} == {""}


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx"])
def test_no_name_becomes_a_formula_in_a_spreadsheet(client_of, viewer, name: str):
    fat = part(100, MaterialFactory(name=name))
    VersionFactory(name=name, design=design(fat, part(100, naoh=True), part(100, liquid=True)))

    rows = rows_of(client_of(viewer).get(reverse("recipes:all_csv")))

    assert (rows[0]["recipe"], rows[0]["material"]) == (f"'{name}", f"'{name}")


def test_a_version_that_is_not_there_is_not_carried_out(client_of, viewer):
    version = VersionFactory()
    version.number = 2

    assert client_of(viewer).get(carried("version_json", version)).status_code == 404
    assert client_of(viewer).get(carried("version_csv", version)).status_code == 404


def test_the_description_of_the_format_is_there_to_read(client_of, viewer):
    answer = client_of(viewer).get(reverse("recipes:schema"))

    assert json.loads(answer.content)["title"] == "Recipes for handmade soap"


# --- in -----------------------------------------------------------------------------------------------------


def test_a_file_is_looked_at_first_and_then_kept(client_of, maker):
    client = client_of(maker)

    form = looked_at(client, by_hand())
    assert not Recipe.objects.exists()
    answer = client.post(IMPORT, form)

    recipe = Recipe.objects.get()
    assert (answer.status_code, answer.url) == (302, reverse("recipes:recipe", args=[recipe.pk]))
    assert Material.objects.get(name="Tallow").sap_source == "from the file lane.json: a book"


def test_a_form_sent_twice_keeps_a_file_once(client_of, maker):
    client = client_of(maker)
    form = looked_at(client, by_hand())

    client.post(IMPORT, form)
    answer = client.post(IMPORT, form, follow=True)

    assert Recipe.objects.count() == 1
    assert "Nothing was added." in answer.content.decode()


def test_the_page_says_what_becomes_of_each_recipe_and_material(client_of, maker):
    MaterialFactory(name="Tallow", sap_low=180)
    file = by_hand()
    recipe = file["recipes"][0]
    file["recipes"] += [
        {**recipe, "name": "Coal Barge"},
        {**recipe, "name": "Thin", "liquid": {"liquid_percent_of_fats": 1}},
    ]
    VersionFactory(name="Gravel Lane")
    client = client_of(maker)

    page = client.post(IMPORT, upload(file)).content.decode()

    assert "this one becomes “Gravel Lane (2)”" in page
    assert page.count('name="take"') == 2
    assert "Cannot be made here: Liquid: This must be from 5 to 300 %." in page
    assert "The file says another saponification value: 184 to 196 mg KOH/g. Yours counts." in page
    assert page.count("joins your catalogue") == 1


def test_the_page_says_what_becomes_of_the_moulds(client_of, maker):
    MouldFactory(name="Long loaf", depth=Decimal(70))

    page = client_of(maker).post(IMPORT, upload(split_by_hand())).text

    assert "The file says another depth: 65 mm. Yours counts." in page
    assert "joins your moulds" in page
    assert "Their moulds" not in client_of(maker).post(IMPORT, upload(by_hand())).text


def test_a_recipe_without_its_tick_is_not_kept(client_of, maker):
    file, client = by_hand(), client_of(maker)
    file["recipes"].append({**file["recipes"][0], "name": "Coal Barge"})
    form = looked_at(client, file)

    client.post(IMPORT, form | {"take": ["1", "x", "-1", "9" * 400]})

    assert [recipe.name for recipe in Recipe.objects.all()] == ["Coal Barge"]


def test_several_recipes_lead_to_the_list_and_what_was_refused_is_told(client_of, maker):
    file, client = by_hand(), client_of(maker)
    recipe = file["recipes"][0]
    file["recipes"] += [{**recipe, "name": "Coal Barge"}, {**recipe, "name": "Thin", "bars": 11}]
    form = looked_at(client, file)
    Material.objects.create(kind="colour", name="Water", colour="#ffffff")
    form["take"] = [0, 1, 2]

    answer = client.post(IMPORT, form, follow=True)

    assert answer.redirect_chain == [(LIST, 302)]
    assert "3 recipes were added to yours." in answer.content.decode()


def test_what_cannot_be_made_any_more_is_told_after_all(client_of, maker):
    client = client_of(maker)
    form = looked_at(client, by_hand())
    MaterialFactory(name="Tallow", sap_low=None, sap_nominal=None, sap_high=None)

    answer = client.post(IMPORT, form, follow=True)

    assert "Gravel Lane was not added: Tallow has no saponification value yet" in answer.content.decode()
    assert not Recipe.objects.exists()


def test_a_file_with_nothing_new_offers_nothing_to_keep(client_of, maker):
    client = client_of(maker)
    client.post(IMPORT, looked_at(client, by_hand()))

    page = client.post(IMPORT, upload(by_hand())).content.decode()

    assert "You have it already, just as it is." in page
    assert "Bring them in" not in page


def test_names_in_a_file_are_only_words(client_of, maker):
    file, client = by_hand(name=SCRIPT), client_of(maker)
    file["materials"][0]["name"] = file["recipes"][0]["ingredients"][0]["material"] = "<b>Tallow</b>"

    pages = [
        client.post(IMPORT, upload(file, f"{SCRIPT}.json")),
        client.post(IMPORT, looked_at(client, file), follow=True),
    ]

    for page in pages:
        assert "<script>alert" not in page.content.decode()
        assert "<b>Tallow" not in page.content.decode()


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (b"", "This is no JSON file"),
        (b"\xff\xfe\x00", "not written in UTF-8"),
        (b"[" * 50_000, "nested far deeper"),
        (b'{"format": "soapshop-recipe", "a": NaN}', "“NaN” in this file"),
        (b"x" * 2_000_001, "larger than 2 MB"),
        (content(by_hand(bars=0)), "recipes › 1 › bars: this must be at least 1."),
    ],
)
def test_a_bad_file_is_refused_beside_its_field(client_of, maker, bad: bytes, words: str):
    answer = client_of(maker).post(IMPORT, upload(bad))

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert 'id="id_file_error"' in answer.content.decode()


@pytest.mark.parametrize("packed", ["", "x", NUL, TOO_LONG, "9" * 400, SCRIPT])
def test_a_file_that_did_not_come_back_whole_has_to_be_chosen_again(client_of, maker, packed: str):
    answer = client_of(maker).post(IMPORT, {"packed": packed, "file_name": "lane.json"})

    assert answer.status_code == 422
    assert "Not kept yet" in answer.content.decode()


def test_no_file_is_told(client_of, maker):
    answer = client_of(maker).post(IMPORT, {})

    assert answer.status_code == 422
    assert "Choose a file." in answer.content.decode()


@pytest.mark.parametrize("name", ["x" * 250 + ".json", "\u202e\u200b.json", "../../etc/passwd"])
def test_a_strange_name_of_a_file_does_no_harm(client_of, maker, name: str):
    client = client_of(maker)

    client.post(IMPORT, looked_at(client, by_hand(), name=name))

    assert len(Material.objects.get(name="Tallow").sap_source) < 100


def test_a_viewer_sees_no_way_in(client_of, viewer):
    client = client_of(viewer)

    assert client.get(IMPORT).status_code == 403
    assert client.post(IMPORT, upload(by_hand())).status_code == 403
    assert IMPORT not in client.get(LIST).content.decode()
