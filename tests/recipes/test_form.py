"""The form takes what makers type and refuses everything else, beside its field, keeping what was typed."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from recipes.forms import RecipeForm
from recipes.models import Recipe
from soapshop.core.models import User
from tests.bad_input import (
    EMOJI,
    EVERYTHING,
    NO_POSITIVE_NUMBERS,
    NUL,
    REFUSED_TEXTS,
    STRANGE_TEXTS,
    TOO_LONG,
)
from tests.factories import LotFactory, MaterialFactory
from tests.recipes.typed import typed

pytestmark = pytest.mark.django_db

ADD = reverse("recipes:add")
NUMBERS = ["superfat", "liquid_value", "size_grams", "bars", "cure_days"]
ALLOWED = {
    *(("superfat", below) for below in ("-1", "-0.5", "\N{MINUS SIGN}3")),
    ("cure_days", ""),  # as is usual for this kind of soap
}


@pytest.fixture
def client(client_of, maker: User) -> Client:
    return client_of(maker)


def refused(client: Client, fields: dict[str, Any]) -> RecipeForm:
    """Post what must not be saved; the form that came back."""
    answer = client.post(ADD, fields)
    assert answer.status_code == 422
    assert not Recipe.objects.exists()
    return answer.context["form"]


def test_every_number_refuses_what_is_none(client: Client):
    form = typed()
    for name in NUMBERS:
        for bad in NO_POSITIVE_NUMBERS:
            if (name, bad) in ALLOWED:
                continue
            assert refused(client, form(**{name: bad})).errors.get(name), (name, bad)


def test_every_amount_of_a_fat_refuses_what_is_none(client: Client):
    form = typed()
    for bad in set(EVERYTHING) - {"1e2"}:
        fats = refused(client, form(fats=[(form.olive, bad), (form.coconut, "100")])).lists["fats"]
        assert fats.forms[0].errors or fats.errors, bad


@pytest.mark.parametrize("bad", sorted(set(NO_POSITIVE_NUMBERS)))
def test_every_weight_of_a_fat_refuses_what_is_none(client: Client, bad: str):
    form = typed()

    back = refused(client, form(size_by="weights", fats=[(form.olive, bad), (form.coconut, "300")]))

    assert back.lists["fats"].forms[0].errors


@pytest.mark.parametrize("bad", ["", "0", "-1", "NaN", "250 g", "3000", EMOJI, TOO_LONG, NUL, "1e400"])
def test_a_mould_refuses_what_is_no_length(client: Client, bad: str):
    sides = {"mould_length": "250", "mould_width": bad, "mould_height": "60"}

    assert refused(client, typed()(size_by="mould", **sides)).errors["mould_width"]


@pytest.mark.parametrize("bad", ["99999", "x", "-1", "9" * 40, "1 or 1=1", EMOJI, NUL, TOO_LONG])
@pytest.mark.parametrize("name", ["fats", "alkalis", "liquids", "colours"])
def test_a_material_that_is_not_there_is_refused(client: Client, name: str, bad: str):
    rows = refused(client, typed()(**{name: [(bad, "100")]})).lists[name]

    assert rows.forms[0].errors["material"]


def test_a_material_of_another_kind_is_refused(client: Client):
    form = typed()

    assert refused(client, form(fats=[(form.lye, "100")])).lists["fats"].forms[0].errors["material"]


@pytest.mark.parametrize("name", ["liquid_by", "size_by"])
@pytest.mark.parametrize("bad", ["", "nonsense", EMOJI, TOO_LONG])
def test_a_choice_that_is_none_is_refused(client: Client, name: str, bad: str):
    assert refused(client, typed()(**{name: bad})).errors[name]


@pytest.mark.parametrize("bad", ["", "red", "#12", "#1234567", "#12345g", EMOJI, TOO_LONG, NUL, "#123456\n#"])
def test_a_colour_that_is_none_is_refused(client: Client, bad: str):
    assert refused(client, typed()(bar_colour=bad)).errors["bar_colour"]


@pytest.mark.parametrize("name", ["name", "note"])
@pytest.mark.parametrize("bad", REFUSED_TEXTS)
def test_words_that_no_database_holds_are_refused(client: Client, name: str, bad: str):
    assert refused(client, typed()(**{name: bad})).errors[name]


@pytest.mark.parametrize("words", STRANGE_TEXTS)
def test_strange_words_are_kept_as_words(client: Client, words: str):
    client.post(ADD, typed()(name=words, note=words))

    recipe = Recipe.objects.get()
    page = client.get(reverse("recipes:recipe", args=[recipe.pk])).content.decode()
    assert recipe.name == words
    assert "<script>alert" not in page
    assert escape(words) in page


def test_a_name_without_letters_is_refused(client: Client):
    assert refused(client, typed()(name="   ")).errors["name"]


def test_a_name_that_is_taken_is_refused_beside_it(client: Client, maker: User):
    form = typed()
    client.post(ADD, form())

    answer = client.post(ADD, form(name="GRAVEL lane"))

    assert answer.status_code == 422
    assert "already" in answer.context["form"].errors["name"][0]
    assert Recipe.objects.count() == 1


def test_the_same_form_sent_twice_makes_one_recipe(client: Client):
    form = typed()
    client.post(ADD, form())
    client.post(ADD, form())

    assert Recipe.objects.count() == 1


def test_fats_over_a_hundred_are_refused_beside_them(client: Client):
    form = typed()

    fats = refused(client, form(fats=[(form.olive, "70"), (form.coconut, "45")])).lists["fats"]

    assert fats.errors == ["The fats add up to 115 %; that is 15 % too much."]
    assert fats.sum_words == "115 %, 15 % too much"


def test_fats_below_a_hundred_are_refused_with_what_is_missing(client: Client):
    form = typed()

    fats = refused(client, form(fats=[(form.olive, "70"), (form.coconut, "22.5")])).lists["fats"]

    assert fats.errors == ["The fats add up to 92.5 %; 7.5 % is missing."]
    assert fats.sum_words == "92.5 %, 7.5 % left"


@pytest.mark.parametrize("superfat", ["-5.01", "30.5", "31", "-6"])
def test_superfat_outside_its_bounds_is_refused(client: Client, superfat: str):
    assert refused(client, typed()(superfat=superfat)).errors["superfat"]


@pytest.mark.parametrize("superfat", ["-5", "30", "\N{MINUS SIGN}2", "0"])
def test_superfat_within_its_bounds_is_taken(client: Client, superfat: str):
    assert client.post(ADD, typed()(superfat=superfat)).status_code == 302


def test_lye_that_does_not_dissolve_is_refused_beside_its_field(client: Client):
    assert "dissolve" in refused(client, typed()(liquid_value="55")).errors["liquid_value"][0]


def test_a_fat_without_saponification_value_is_refused_beside_it(client: Client):
    form = typed()
    wax = MaterialFactory(name="Old tallow", sap_low=None, sap_nominal=None, sap_high=None)

    fats = refused(client, form(fats=[(form.olive, "60"), (wax, "40")])).lists["fats"]

    assert "no saponification value" in fats.forms[1].errors["material"][0]
    assert "Old tallow (no saponification value yet)" in dict(fats.choices).values()


def test_a_fat_given_twice_is_refused_beside_the_second(client: Client):
    form = typed()

    fats = refused(client, form(fats=[(form.olive, "60"), (form.olive, "40")])).lists["fats"]

    assert not fats.forms[0].errors
    assert fats.forms[1].errors["material"] == ["Olive oil stands in the list already."]


def test_a_fat_without_amount_and_an_amount_without_fat_are_refused(client: Client):
    form = typed()

    fats = refused(client, form(fats=[(form.olive, ""), ("", "40")])).lists["fats"]

    assert fats.forms[0].errors["amount"]
    assert fats.forms[1].errors["material"]


@pytest.mark.parametrize("name", ["fats", "alkalis", "liquids"])
def test_an_empty_list_that_must_not_be_is_refused(client: Client, name: str):
    assert refused(client, typed()(**{name: []})).lists[name].errors


def test_more_than_sixty_materials_are_refused(client: Client):
    form = typed()
    colours = [(MaterialFactory(colour_=True), "0.1") for _ in range(57)]

    assert "60" in refused(client, form(colours=colours)).lists["fats"].errors[0]


def test_a_thousand_rows_are_cut_short(client: Client):
    form = typed()

    back = refused(client, form(fats=[(form.olive, "1")] * 900))

    assert len(back.lists["fats"].forms) == 61


def test_two_alkalis_need_their_shares(client: Client):
    form, potash = typed(), MaterialFactory(koh=True, name="Potash")

    assert refused(client, form(alkalis=[(form.lye, "60"), (potash, "")])).lists["alkalis"].forms[1].errors
    assert refused(client, form(alkalis=[(form.lye, "60"), (potash, "50")])).lists["alkalis"].errors
    assert client.post(ADD, form(alkalis=[(form.lye, "60"), (potash, "40")])).status_code == 302


def test_what_was_typed_is_shown_again(client: Client):
    form = typed()
    fats = [(form.olive, "7o"), (form.coconut, "30 %")]

    page = client.post(ADD, form(fats=fats, superfat="four", note="Keep <me>")).content.decode()

    for kept in ('value="7o"', 'value="30 %"', 'value="four"', "Keep &lt;me&gt;"):
        assert kept in page
    assert f'<option value="{form.olive.pk}" selected>' in page
    assert 'aria-invalid="true"' in page


def test_nothing_at_all_is_refused_without_a_stumble(client: Client):
    back = refused(client, {})

    assert back.errors["name"]
    assert back.lists["fats"].errors == []


def test_what_is_on_the_shelf_is_offered_first(client: Client):
    form = typed()
    LotFactory(material=form.coconut)

    offered = client.get(ADD).context["form"].lists["fats"].choices

    assert offered[1:] == [
        ("On the shelf", [(str(form.coconut.pk), "Coconut oil")]),
        ("Not in stock", [(str(form.olive.pk), "Olive oil")]),
    ]
