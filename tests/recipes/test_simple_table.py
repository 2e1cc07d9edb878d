"""A table of materials begins a new recipe; what cannot be read in it is told with its line."""

from __future__ import annotations

from urllib.parse import parse_qsl

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.models import Material
from recipes.exchange.document import BadFile
from recipes.exchange.simple_table import beginning
from tests.bad_input import EVERYTHING
from tests.factories import LotFactory, MaterialFactory, VersionFactory
from tests.recipes.typed import rows

pytestmark = pytest.mark.django_db

IMPORT = reverse("recipes:import")


@pytest.fixture
def shelf() -> dict[str, int]:
    """What the stockroom knows, by name."""
    made = [
        MaterialFactory(name="Olive oil"),
        MaterialFactory(name="Coconut oil", sap_low=248, sap_nominal=256, sap_high=265),
        MaterialFactory(name="Soda", naoh=True),
        MaterialFactory(name="Water", liquid=True),
        MaterialFactory(name="Milk", liquid=True),
        MaterialFactory(name="Lavender", fragrance=True),
        MaterialFactory(name="Wrap", packaging=True),
    ]
    return {material.name: material.pk for material in made}


def asked(table: str, shelf: dict[str, int]) -> dict[str, list[str]]:
    names = {str(pk): name for name, pk in shelf.items()}
    found: dict[str, list[str]] = {}
    for key, value in parse_qsl(beginning(table.encode(), Material.objects.all()), keep_blank_values=True):
        found.setdefault(key, []).append(names.get(value, value) if key.endswith("material") else value)
    return found


def problem(table: str | bytes) -> str:
    with pytest.raises(BadFile) as caught:
        beginning(table if isinstance(table, bytes) else table.encode(), Material.objects.all())
    return " ".join(caught.value.problems)


def test_fats_in_per_cent_stay_as_they_are(shelf):
    found = asked("Material,Amount,Unit\nolive oil,70,%\nCoconut oil,30,\nLavender,2.5,%\n", shelf)

    assert found["fats-material"] == ["Olive oil", "Coconut oil"]
    assert found["fats-amount"] == ["70", "30"]
    assert found["fragrances-amount"] == ["2.5"]
    assert "size_grams" not in found


def test_fats_by_weight_become_shares_and_the_size(shelf):
    found = asked("material;amount;unit\nOlive oil;1,2;kg\nCoconut oil;600;g\nLavender;36;g", shelf)

    assert found["fats-amount"] == ["66.667", "33.333"]
    assert found["size_grams"] == ["1800"]
    assert found["fragrances-amount"] == ["2"]


def test_of_the_lye_only_the_materials_are_taken(shelf):
    found = asked("material\tamount\tunit\nOlive oil\t100\t%\nSoda\t999\tg\nWater\t60\tg\nMilk\t30\tg", shelf)

    assert (found["alkalis-material"], found["alkalis-amount"]) == (["Soda"], ["100"])
    assert found["liquids-amount"] == ["66.667", "33.333"]


@pytest.mark.parametrize(
    ("lines", "amounts"),
    [
        ("Water,,\n", ["100"]),
        ("Water,70,%\nMilk,30,%\n", ["70", "30"]),
        ("Water,70,%\nMilk,30,g\n", ["", ""]),
    ],
)
def test_liquids_are_shared_out_where_the_table_says_how(shelf, lines: str, amounts: list[str]):
    assert asked(f"material,amount,unit\n{lines}", shelf)["liquids-amount"] == amounts


def test_two_alkalis_wait_for_their_shares(shelf):
    shelf["Potash"] = MaterialFactory(name="Potash", koh=True).pk

    assert asked("material,amount\nSoda,10\nPotash,20\n", shelf)["alkalis-amount"] == ["", ""]


def test_packaging_is_counted(shelf):
    assert asked("material,amount,unit\nWrap,2,pcs\n", shelf)["packaging-amount"] == ["2"]
    assert "counted in pieces" in problem("material,amount,unit\nWrap,2,g\n")


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("", "name the columns: material, amount, unit"),
        ("Olive oil,70\n", "name the columns"),
        ("material,amount\n", "no material in this table"),
        ("material,amount\n,\n\n", "no material in this table"),
        ("material,amount\nPalm oil,3\n", "Line 2: there is no “Palm oil” in the stockroom"),
        ("material,amount\n\nOlive oil,\n", "Line 3: “” is no amount."),
        ("material,amount,unit\nOlive oil,3,parsec\n", "Line 2: “parsec” is not a unit known here"),
        ("material,amount,unit\nOlive oil,3,g\nCoconut oil,7,%\n", "either every fat by its weight"),
        ("material,amount,unit\nOlive oil,100,%\nLavender,7,g\n", "Give the fats by weight too, or Lavender"),
        ("material,amount\n" + "Olive oil,1\n" * 10_000, "up to 60 materials; this table has 10000 lines"),
        (b"material,amount\nOlive\xff,3", "not written in UTF-8"),
        ('material,amount\n"' + "a" * 200_000 + '",3', "cannot be read"),
    ],
)
def test_what_cannot_be_read_is_told_with_its_line(shelf, table: str | bytes, words: str):
    assert words in problem(table)


@pytest.mark.parametrize("column", ["material", "amount", "unit"])
def test_anything_in_any_column_is_read_or_refused_in_words(shelf, column: str):
    silent = []
    for bad in EVERYTHING:
        line = {"material": "Olive oil", "amount": "3", "unit": "g"} | {column: bad}
        try:
            told = bool(asked("material,amount,unit\n" + ",".join(line.values()), shelf))
        except BadFile as error:
            told = all(error.problems)
        if not told:
            silent.append(bad)
    assert silent == []


def test_a_table_opens_the_form_of_a_new_recipe_filled_in(client_of, maker, shelf):
    table = (
        b"material,amount,unit\nOlive oil,700,g\nCoconut oil,300,g\nSoda,140,g\nWater,300,g\nLavender,20,g\n"
    )
    client = client_of(maker)

    answer = client.post(IMPORT, {"file": SimpleUploadedFile("lane.csv", table, "text/csv")}, follow=True)

    form = answer.context["form"]
    assert answer.redirect_chain[0][0].startswith(reverse("recipes:add"))
    assert rows(form, "fats") == [(str(shelf["Olive oil"]), "70"), (str(shelf["Coconut oil"]), "30")]
    assert rows(form, "fragrances") == [(str(shelf["Lavender"]), "2")]
    assert form["size_grams"].value() == "1000"
    assert answer.context["result"].sheet is not None


def test_the_table_of_a_recipe_begins_another_of_the_same(client_of, maker):
    version, client = VersionFactory(), client_of(maker)
    LotFactory(material=version.ingredients.first().material)
    table = client.get(reverse("recipes:version_csv", args=[version.recipe_id, 1])).content

    answer = client.post(IMPORT, {"file": SimpleUploadedFile("lane.csv", table, "text/csv")}, follow=True)

    assert answer.context["result"].sheet.worked_out.fat_grams == 1000


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("Old dark,5,g,", "Old dark was kept back from a batch"),
        ("Poppy,5,g,", "a topping is given in grams for a bar"),
        ("Stars,5,g,", "counted in pieces"),
        ("Lavender,2,percent_of_its_fats,Rose", "portions are not taken from a table"),
    ],
)
def test_what_a_table_cannot_say_is_told(shelf, line: str, words: str):
    MaterialFactory(batter=True, name="Old dark")
    MaterialFactory(topping=True, name="Poppy")
    MaterialFactory(embed=True, name="Stars")

    assert words in problem(f"material,amount,unit,portion\n{line}\n")


def test_what_is_set_on_top_is_given_for_a_bar(shelf):
    poppy, stars = MaterialFactory(topping=True, name="Poppy"), MaterialFactory(embed=True, name="Stars")
    table = "material,amount,unit\nOlive oil,100,%\nPoppy,1.5,g_per_bar\nStars,3,pieces_per_bar\n"

    begun = beginning(table.encode(), Material.objects.all())

    assert f"toppings-material={poppy.pk}&toppings-amount=1.5" in begun
    assert f"embeds-material={stars.pk}&embeds-amount=3" in begun


def test_a_bad_table_is_refused_beside_its_field(client_of, maker):
    answer = client_of(maker).post(IMPORT, {"file": SimpleUploadedFile("x.csv", b"nothing", "text/csv")})

    assert answer.status_code == 422
    assert "The first line must name the columns" in answer.content.decode()
