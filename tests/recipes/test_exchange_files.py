"""Files that cannot be read say what is wrong with them, and where; those carried out fit the schema."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from recipes.exchange import document
from recipes.exchange.document import BadFile
from tests.factories import VersionFactory, design, part
from tests.recipes.carried import by_hand, content, file_of, read

SCHEMA = json.loads(document.schema_text())


def problems(found: Any) -> str:
    with pytest.raises(BadFile) as caught:
        document.read(found if isinstance(found, bytes) else content(found))
    assert caught.value.problems
    return " ".join(caught.value.problems)


def in_material(**changed: Any) -> dict[str, Any]:
    file = by_hand()
    file["materials"][0] |= changed
    return file


def test_the_schema_is_one_of_draft_2020_12():
    Draft202012Validator.check_schema(SCHEMA)

    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_every_key_of_the_schema_is_described():
    named = [SCHEMA["properties"], *(group.get("properties", {}) for group in SCHEMA["$defs"].values())]
    ranges = {
        "low",
        "usual",
        "high",
        "name",
        "fat_saponification_mg_koh_per_g",
        "saponification_mg_koh_per_g",
    }
    without = [
        name
        for properties in named
        for name, said in properties.items()
        if "description" not in said and name not in ranges | {"contents_g_per_100_g"}
    ]

    assert without == []


@pytest.mark.django_db
def test_what_is_carried_out_fits_the_schema():
    VersionFactory(
        note="Zwölf Ölfässer\nund ein 🧼",
        bar_colour="#a9b9c1",
        design=design(
            part(
                "33.333",
                profile={"C18:1": 80.5},
                origin="plant",
                fat_kind="triglyceride",
                density=Decimal("0.91"),
            ),
            part("66.667", reference="olive", antioxidant=True),
            part(60, naoh=True),
            part(40, koh=True),
            part(100, liquid=True, water=90, salt=3, acid="lactic", acid_least=1),
            part(1, colour_=True),
        ),
    )

    found = json.loads(file_of())

    Draft202012Validator(SCHEMA).validate(found)
    assert [each["amount"] for each in found["recipes"][0]["ingredients"][:2]] == [33.333, 66.667]


def test_numbers_are_read_exactly():
    assert read(by_hand(superfat_percent=5.13))["recipes"][0]["superfat_percent"] == Decimal("5.13")


def test_a_byte_order_mark_is_no_trouble():
    assert document.read(b"\xef\xbb\xbf" + content(by_hand()))["format"] == "soapshop-recipe"


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (b"", "no JSON file: line 1"),
        (b"name;amount\nOlive;3", "no JSON file"),
        (b'{"format": ', "line 1 cannot be read, at character 12"),
        (b"\xff\xfe{\x00}\x00", "not written in UTF-8"),
        ('{"a": "ö"}'.encode("latin-1"), "not written in UTF-8"),
        (b"[" * 100_000, "nested far deeper"),
        (b"[" * 100_000 + b"]" * 100_000, "nested far deeper"),
        (b" " * 2_000_001, "larger than 2 MB"),
        (b"{}", "not a file of recipes"),
        (b"[1]", "not a file of recipes"),
        (b"null", "not a file of recipes"),
        (b'{"format": "another"}', "not a file of recipes"),
        (b'{"format": "soapshop-recipe", "format_version": 2}', "newer version of this program, in format 2"),
        (b'{"format": "soapshop-recipe", "format_version": NaN}', "“NaN” in this file"),
        (b'{"format": "soapshop-recipe", "format_version": -Infinity}', "“-Infinity” in this file"),
        (b'{"format": "soapshop-recipe", "a": ' + b"9" * 5000 + b"}", "far too long"),
        (b'{"format": "soapshop-recipe", "a": 1e400}', "far too long"),
        (b'{"format": "soapshop-recipe", "a": 1e-400}', "far too long"),
        (b'{"format": "soapshop-recipe", "a": 1e9999999999999999999999}', "far too long"),
        (b'{"format": "soapshop-recipe", "a": 0.' + b"1" * 400 + b"}", "far too long"),
        (b'{"format": "soapshop-recipe"}', "“format_version” is missing"),
    ],
)
def test_what_is_no_file_of_recipes_says_so(bad: bytes, words: str):
    assert words in problems(bad)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"name": ""}, "recipes › 1 › name: this must not be empty."),
        ({"name": "   "}, "recipes › 1 › name: this is not written"),
        ({"name": "x" * 10_000}, "recipes › 1 › name: this may have up to 80 characters."),
        ({"name": "be\0fore"}, "recipes › 1 › name: this is not written"),
        ({"name": "\ud800"}, "recipes › 1 › name: this is not written"),
        ({"note": "a\x07b"}, "recipes › 1 › note: this is not written"),
        ({"superfat_percent": "5"}, "recipes › 1 › superfat_percent: this must be a number."),
        ({"superfat_percent": -1e9}, "superfat_percent: this must be at least -5."),
        ({"superfat_percent": 99}, "superfat_percent: this may be 30 at most."),
        ({"superfat_percent": True}, "this must be a number"),
        ({"bars": 2.5}, "bars: this must be a whole number."),
        ({"bars": 10**30}, "bars: this may be 2000 at most."),
        ({"liquid": {}}, "liquid: give exactly one of lye_concentration_percent, liquid_to_alkali_g_per_g"),
        ({"size": {"fats_g": 1, "batter_g": 2}}, "size: give exactly one of fats_g"),
        ({"size": {"fats_g": 0}}, "size › fats_g: this must be more than 0."),
        ({"size": {"each_fat_by_weight": False}}, "this must be “true”."),
        ({"process": "warm"}, "process: this must be one of cold, hot."),
        ({"tags": ["a"] * 13}, "tags: this list may hold up to 12."),
        ({"tags": ["a,b"]}, "tags › 1: this is not written"),
        ({"bar_colour": "red"}, "bar_colour: this is not written"),
        ({"ingredients": []}, "ingredients: this list must not be empty."),
        ({"ingredients": [{"material": "Tallow"}]}, "ingredients › 1: “amount” is missing."),
        ({"ingredients": "none"}, "ingredients: this must be a list in square brackets."),
        ({"<script>": 1}, "recipes › 1: “<script>” is not known here."),
        ({"\ud800" * 50: 1}, "“" + "?" * 40 + "” is not known here."),
    ],
)
def test_what_is_wrong_in_a_recipe_is_told_with_its_place(changed: dict[str, Any], words: str):
    assert words in problems(by_hand(**changed))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"kind": "soap"}, "materials › 1 › kind: this must be one of fat"),
        ({"saponification_mg_koh_per_g": 190}, "this must be a group in curly brackets."),
        (
            {"saponification_mg_koh_per_g": {"low": 1, "usual": 2, "high": 7e9}},
            "high: this may be 700 at most.",
        ),
        ({"antioxidant": "yes"}, "antioxidant: this must be true or false."),
        ({"inci_name": 7}, "inci_name: this must be text in quotation marks."),
        ({"fatty_acids_percent": {"oleic": 80}}, "materials › 1 › fatty_acids_percent"),
        ({"name": "soda "}, "“soda ” stands among the materials twice."),
    ],
)
def test_what_is_wrong_in_a_material_is_told_with_its_place(changed: dict[str, Any], words: str):
    assert words in problems(in_material(**changed))


def test_a_file_of_ten_thousand_recipes_is_too_long_and_quickly_refused():
    file = by_hand()
    file["recipes"] = [{"name": "x"}] * 10_000

    assert "recipes: this list may hold up to 1000." in problems(file)


def test_no_more_is_told_than_one_can_read():
    file = by_hand()
    file["recipes"] = [{}] * 100

    with pytest.raises(BadFile) as caught:
        document.read(content(file))

    assert len(caught.value.problems) == document.MOST_PROBLEMS


def test_a_file_packed_for_a_form_is_the_same_when_it_is_unpacked():
    whole = content(by_hand(note="ö" * 2000))

    assert document.unpacked(document.packed(whole)) == whole


@pytest.mark.parametrize("text", ["", "x", "ö", "AAAA", document.packed(b"x" * 100)[:-8]])
def test_what_was_never_packed_is_refused(text: str):
    with pytest.raises(BadFile):
        document.read(document.unpacked(text))


def test_no_small_text_unpacks_into_a_huge_file():
    bomb = document.packed(b" " * 50_000_000)

    assert len(document.unpacked(bomb)) == document.MOST_BYTES + 1


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_a_file_with_anything_anywhere_is_read_or_refused_in_words(data: st.DataObject):
    """Any value in place of any other of a good file."""
    file = by_hand()
    anything = st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
        max_leaves=5,
    )
    place: Any = file
    while isinstance(place, dict | list):
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        parent, key = place, data.draw(st.sampled_from(keys))
        place = parent[key]
        if data.draw(st.booleans()):
            break
    parent[key] = data.draw(anything)

    told = ["read"]
    try:
        document.read(content(file))
    except BadFile as error:
        told = list(error.problems)
    assert all(words.encode() for words in told)
