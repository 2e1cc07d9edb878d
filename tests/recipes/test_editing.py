"""The form while it is being filled in: the result as one types, rows, and other ways to say the same."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from recipes.models import Recipe
from soapshop.core.models import User
from tests.bad_input import EMOJI, NUL, SCRIPT, TOO_LONG
from tests.factories import LotFactory, MaterialFactory, WorkshopFactory
from tests.recipes.typed import rows, typed

pytestmark = pytest.mark.django_db

BAD = ["", "0", "-1", "NaN", "Infinity", "1e400", "1e2", "9" * 400, EMOJI, SCRIPT, NUL, TOO_LONG]
ADD, PREVIEW = reverse("recipes:add"), reverse("recipes:preview")


@pytest.fixture
def client(client_of, maker: User) -> Client:
    return client_of(maker)


def preview(client: Client, fields: dict[str, Any], target: str = "result") -> HttpResponse:
    """As htmx asks while one types, or for one of the lists."""
    return client.post(PREVIEW, fields, headers={"HX-Request": "true", "HX-Target": target})


def words(answer: HttpResponse) -> str:
    return " ".join(answer.content.decode().split())


def test_the_result_comes_while_one_types(client: Client):
    page = words(preview(client, typed()()))

    assert page.startswith('<div class="stack" id="result">')
    assert "144 g" in page
    assert "Safe" in page
    assert 'id="fats-0-figures" hx-swap-oob="true"' in page
    assert "700 g" in page


def test_nothing_is_saved_by_looking(client: Client):
    preview(client, typed()())

    assert not Recipe.objects.exists()


def test_a_name_may_still_be_missing_for_the_result(client: Client):
    assert preview(client, typed()(name="", cure_days="", note="x" * 3000)).context["result"].sheet


def test_an_empty_form_says_what_will_come(client: Client):
    page = words(preview(client, {"fats-material": ["", ""], "fats-amount": ["", ""]}))

    assert "Choose the fats and their shares" in page


def test_what_is_wrong_stands_in_the_result_in_plain_words(client: Client):
    form = typed()

    result = preview(client, form(fats=[(form.olive, "60"), (form.coconut, "30")])).context["result"]

    assert result.problems == ("The fats add up to 90 %; 10 % is missing.",)


def test_each_field_that_cannot_be_read_is_named(client: Client):
    form = typed()

    page = preview(client, form(superfat="lots", fats=[(form.olive, "x"), (form.coconut, "30")]))

    problems = page.context["result"].problems
    assert [problem.split(":")[0] for problem in problems] == ["Superfat", "Fats and oils"]


def test_no_input_makes_the_preview_stumble(client: Client):
    form = typed()
    for bad in BAD:
        for changed in (
            {"superfat": bad},
            {"liquid_value": bad},
            {"liquid_by": bad, "by_liquid": "1"},
            {"size_by": bad},
            {"size_grams": bad},
            {"size_by": "mould", "mould_width": bad, "mould_height": bad},
            {"bars": bad},
            {"bar_colour": bad},
            {"fats": [(form.olive, bad), (bad, "30")]},
            {"add": bad},
            {"remove": bad},
            {"liquid_was": bad, "by_liquid": "1"},
        ):
            assert preview(client, form(**changed)).status_code == 200, (changed, bad)


def test_nothing_at_all_makes_no_stumble(client: Client):
    assert preview(client, {}).status_code == 200
    assert preview(client, {}, target="fats").status_code == 200


def test_a_look_is_by_post_only(client: Client):
    assert client.get(PREVIEW).status_code == 405


def test_a_row_is_added_to_its_list(client: Client):
    answer = preview(client, typed()(add="fats", superfat="x"), target="fats")

    page = words(answer)
    assert page.startswith('<section class="parts" id="fats"')
    assert len(answer.context["rows"].forms) == 3
    assert re.search(r'<select[^>]*data-focus[^>]*id="id_fats-material-2"', page)
    assert 'id="result" hx-swap-oob="true"' in page


def test_a_row_is_taken_away_and_the_others_stay(client: Client):
    form = typed()

    shown = preview(client, form(remove="fats:0"), target="fats").context

    assert rows(shown["form"], "fats") == [(str(form.coconut.pk), "30")]
    assert shown["rows"].sum_words == "30 %, 70 % left"


def test_the_button_last_pressed_does_not_act_again_while_one_types(client: Client):
    """htmx sends it along with what the form asks for next."""
    answer = preview(client, typed()(remove="fats:0"))

    assert len(answer.context["form"].lists["fats"].forms) == 2
    assert answer.context["result"].sheet


def test_rows_come_and_go_without_javascript(client: Client):
    form = typed()

    added = client.post(ADD, form(add="fragrances", name="")).context["form"]
    removed = client.post(ADD, form(remove="fats:1", name="Half a name")).context["form"]

    assert rows(added, "fragrances") == [("", "")]
    assert not added.errors
    assert rows(removed, "fats") == [(str(form.olive.pk), "70")]
    assert removed["name"].value() == "Half a name"
    assert not Recipe.objects.exists()


def test_it_is_worked_out_without_javascript(client: Client):
    answer = client.post(ADD, typed()(work_out=""))

    assert answer.status_code == 200
    assert "144 g" in words(answer)
    assert not Recipe.objects.exists()


def test_shares_become_weights(client: Client):
    form = typed()

    shown = client.post(ADD, form(by_weight="")).context["form"]

    assert shown.by_weight
    assert rows(shown, "fats") == [(str(form.olive.pk), "700"), (str(form.coconut.pk), "300")]
    assert shown.lists["fats"].sum_words == "1\N{NARROW NO-BREAK SPACE}000 g"


def test_weights_become_shares_that_add_up(client: Client):
    form, third = typed(), MaterialFactory()
    fats = [(form.olive, "100"), ("", ""), (form.coconut, "100"), (third, "100")]

    shown = client.post(ADD, form(by_share="", size_by="weights", fats=fats)).context["form"]

    amounts = [amount for _, amount in rows(shown, "fats")]
    assert amounts == ["33.34", "", "33.33", "33.33"]
    assert (shown["size_by"].value(), shown["size_grams"].value()) == ("fats", "300")


def test_what_does_not_work_out_is_not_turned_into_weights(client: Client):
    form = typed()

    answer = client.post(ADD, form(by_weight="", fats=[(form.olive, "70")]))

    assert rows(answer.context["form"], "fats") == [(str(form.olive.pk), "70")]
    assert "Put the recipe right first" in answer.context["result"].problems[0]


@pytest.mark.parametrize(
    ("method", "value"), [("ratio", "2.03"), ("of_fats", "29.29"), ("concentration", "33")]
)
def test_another_way_to_set_the_liquid_keeps_the_liquid(client: Client, method: str, value: str):
    answer = preview(client, typed()(liquid_by=method, liquid_was="concentration", by_liquid="1"))

    shown = answer.context["form"]
    assert (shown["liquid_by"].value(), shown["liquid_value"].value()) == (method, value)
    assert 'id="liquid_value" hx-swap-oob="true"' in words(answer)


def test_another_way_to_set_the_liquid_leaves_what_meant_nothing(client: Client):
    answer = preview(client, typed()(liquid_by="ratio", liquid_was="", by_liquid="1"))

    assert answer.context["form"]["liquid_value"].value() == "33"


def test_the_value_is_not_touched_while_it_is_typed(client: Client):
    assert 'id="liquid_value"' not in words(preview(client, typed()()))


@pytest.mark.parametrize("count", [10, 20])
def test_a_look_asks_as_often_for_twenty_materials_as_for_ten(client: Client, count: int):
    WorkshopFactory()
    form = typed()
    fats = [(MaterialFactory(), str(100 / count)) for _ in range(count)]
    for material, _ in fats:
        LotFactory(material=material)

    with CaptureQueriesContext(connection) as queries:
        answer = preview(client, form(fats=fats))

    assert answer.context["result"].sheet
    assert len(queries) <= 7, [query["sql"][:80] for query in queries]
