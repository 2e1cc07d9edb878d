"""The form of a recipe says when things go in: kept, saved, shown again, and refused beside the row."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from recipes.models import Recipe, Version
from soapshop.core.models import User
from tests.bad_input import STRANGE_TEXTS
from tests.factories import MaterialFactory
from tests.recipes.typed import typed

pytestmark = pytest.mark.django_db

ADD = reverse("recipes:add")


@pytest.fixture
def client(client_of, maker: User) -> Client:
    return client_of(maker)


def split(**changed: Any) -> dict[str, Any]:
    """Six parts of water for the lye, four of milk at trace."""
    form = typed()
    milk = MaterialFactory(name="Hedge milk", liquid=True, water="87.03")
    fields = form(liquids=[(form.water, "60"), (milk, "40")], **changed)
    return {**fields, "liquids-stage": ["", "trace"]}


def hot(**changed: Any) -> dict[str, Any]:
    """Coconut oil after the cook."""
    return {**typed()(**{"process": "hot", **changed}), "fats-stage": ["", "cook"]}


def stages(version: Version) -> dict[str, str]:
    rows = version.ingredients.select_related("material")
    return {row.material.name: row.stage for row in rows}


def test_liquid_at_trace_is_saved_and_shown_again(client: Client):
    client.post(ADD, split(liquid_scope="lye", save=""))

    version = Version.objects.get()
    assert stages(version)["Hedge milk"] == "trace"
    assert version.liquid_scope == "lye"
    again = client.get(reverse("recipes:edit", args=[version.recipe_id])).context["form"]
    assert [row["stage"].value() for row in again.lists["liquids"]] == ["", "trace"]
    assert again["liquid_scope"].value() == "lye"


def test_a_fat_after_the_cook_is_saved_and_named_on_the_page(client: Client):
    client.post(ADD, hot(save=""))

    version = Version.objects.get()
    assert (version.process, stages(version)["Coconut oil"]) == ("hot", "cook")
    page = client.get(reverse("recipes:recipe", args=[version.recipe_id])).content.decode()
    assert "after the cook" in page


def test_a_fat_after_the_cook_needs_hot_process(client: Client):
    answer = client.post(ADD, hot(process="cold", save=""))

    assert answer.status_code == 422
    assert "Choose hot process" in answer.context["form"].lists["fats"].forms[1].errors["material"][0]
    assert [row["stage"].value() for row in answer.context["form"].lists["fats"]] == ["", "cook"]
    assert not Recipe.objects.exists()


@pytest.mark.parametrize("bad", ["lye", "cook", "x", *filter(str.strip, STRANGE_TEXTS)])
def test_a_time_that_is_none_is_refused_beside_the_row(client: Client, bad: str):
    answer = client.post(ADD, {**split(save=""), "liquids-stage": ["", bad]})

    assert answer.status_code == 422
    assert answer.context["form"].lists["liquids"].forms[1].errors["stage"]
    assert not Recipe.objects.exists()


@pytest.mark.parametrize("name", ["process", "liquid_scope"])
def test_a_choice_that_is_none_is_refused(client: Client, name: str):
    answer = client.post(ADD, split(save="", **{name: "sideways"}))

    assert answer.status_code == 422
    assert answer.context["form"].errors[name]


def test_a_change_of_the_time_alone_is_a_change(client: Client):
    fields = split(save="")
    client.post(ADD, fields)
    version = Version.objects.get()
    edit = reverse("recipes:edit", args=[version.recipe_id])

    client.post(edit, {**fields, "liquids-stage": ["", ""], "seen": version.stamp})

    assert set(stages(Version.objects.get()).values()) == {""}


def test_rows_keep_their_time_when_one_before_them_is_taken_away(client: Client):
    form = typed()
    milk, tea = (MaterialFactory(name=name, liquid=True) for name in ("Milk", "Tea"))
    fields = form(liquids=[(form.water, "50"), (tea, "20"), (milk, "30")], remove="liquids:1")

    shown = client.post(ADD, {**fields, "liquids-stage": ["", "", "trace"]}).context["form"]

    assert [row.stage for row in shown.lists["liquids"].typed] == ["", "trace"]


def test_a_copy_keeps_process_and_times(client: Client):
    client.post(ADD, hot(save=""))
    version = Version.objects.get()

    form = client.get(f"{ADD}?copy={version.pk}").context["form"]

    assert form["process"].value() == "hot"
    assert [row["stage"].value() for row in form.lists["fats"]] == ["", "cook"]


@pytest.mark.parametrize("scope", ["batter", "lye"])
def test_another_way_to_give_a_split_liquid_means_the_same(client: Client, scope: str):
    """From lye concentration to a ratio and back, whichever liquid the figure speaks of."""
    fields = split(liquid_scope=scope, liquid_by="ratio", liquid_was="concentration", by_liquid="1")
    ratio = client.post(ADD, fields).context["form"]["liquid_value"].value()

    back = {**fields, "liquid_by": "concentration", "liquid_was": "ratio", "liquid_value": ratio}
    shown = client.post(ADD, back).context["form"]["liquid_value"].value()

    assert ratio == "2.03"
    assert float(shown) == pytest.approx(33, abs=0.05)
