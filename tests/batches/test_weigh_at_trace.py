"""What waits for trace or the end of the cook comes after the lye, in a cup of its own."""

from __future__ import annotations

from decimal import Decimal

import pytest

from batches.queries.weighing import Step
from batches.queries.weighing import bench as board_of
from recipes.design import Part
from recipes.models import Process, Stage, Version
from recipes.services import create_recipe
from tests import printed
from tests.batches.bench import Bench
from tests.batches.pages import address, line_of, weigh, words
from tests.factories import LotFactory, MaterialFactory, design

pytestmark = pytest.mark.django_db


def version_of(shop: Bench, *parts: Part, **changed: object) -> Version:
    """Olive oil, lye and six parts of water, with what else is given."""
    rest = [Part(shop.materials[name], Decimal(100)) for name in ("Olive oil", "Lye")]
    mixed = design(*rest, *parts, **changed)
    return create_recipe(name="Late additions", design=mixed, cure_days=28, by=shop.maker)


@pytest.fixture
def milky(shop: Bench) -> Version:
    """With four parts of milk at trace."""
    milk = MaterialFactory(name="Milk", liquid=True, water=87)
    LotFactory(material=milk)
    water = Part(shop.materials["Water"], Decimal(60))
    return version_of(shop, water, Part(milk, Decimal(40), Stage.TRACE))


def test_the_lye_does_not_wait_for_milk_at_trace(client_of, shop, milky):
    client, batch = client_of(shop.maker), shop.plan(version=milky)
    for name in ("Olive oil", "Water", "Lye"):
        weigh(client, batch, name)

    assert board_of(batch).step == Step.LYE
    assert [card.line.material.name for card in board_of(batch).in_the_jug] == ["Water"]
    page = words(client.get(address("lye", batch)))
    assert "Water" in page
    assert "Milk" not in page.partition("In the jug:")[2].partition("Sprinkle")[0]


def test_milk_at_trace_goes_into_a_cup_of_its_own_however_the_scale_is_used(client_of, shop, milky):
    client, batch = client_of(shop.maker), shop.plan(version=milky)
    client.post(address("scale", batch), {"way": "on_top", "line": line_of(batch, "Olive oil").pk})
    weigh(client, batch, "Water")

    page = client.get(address("weigh", batch), {"line": line_of(batch, "Milk").pk})

    assert "at trace" in words(page)
    assert "into a cup of its own" in words(page)
    assert "lye jug" not in words(page)
    assert page.context["item"].on_top is None


def test_the_batter_can_do_without_what_waits_for_trace(client_of, shop, milky):
    batch = shop.plan(version=milky)

    cards = {card.line.material.name: card.may_be_left_out for card in board_of(batch).lines}

    assert cards == {"Olive oil": False, "Water": False, "Lye": False, "Milk": True}


def test_what_goes_into_the_lye_waits_with_it(client_of, shop):
    salt = MaterialFactory(name="Salt", additive=True)
    LotFactory(material=salt)
    water = Part(shop.materials["Water"], Decimal(100))
    batch = shop.plan(version=version_of(shop, water, Part(salt, Decimal(1), Stage.LYE)))
    client = client_of(shop.maker)
    for name in ("Olive oil", "Water", "Lye"):
        weigh(client, batch, name)

    assert board_of(batch).step == Step.WEIGH
    weigh(client, batch, "Salt")
    assert board_of(batch).step == Step.LYE
    assert [card.line.material.name for card in board_of(batch).in_the_jug] == ["Water", "Salt"]


def test_a_fat_after_the_cook_comes_after_the_lye_and_counts_as_superfat(client_of, shop):
    rest = [
        Part(shop.materials["Olive oil"], Decimal(95)),
        Part(shop.materials["Coconut oil"], Decimal(5), Stage.COOK),
        Part(shop.materials["Lye"], Decimal(100)),
        Part(shop.materials["Water"], Decimal(100)),
    ]
    hot = design(*rest, process=Process.HOT)
    version = create_recipe(name="Cooked", design=hot, cure_days=7, by=shop.maker)
    batch = shop.plan(version=version)
    client = client_of(shop.maker)
    for name in ("Olive oil", "Water", "Lye"):
        weigh(client, batch, name)

    assert board_of(batch).step == Step.LYE
    safety = board_of(batch).safety
    assert safety
    assert safety.nominal > 10
    page = client.get(address("weigh", batch), {"line": line_of(batch, "Coconut oil").pk})
    assert "after the cook" in words(page)


def test_the_card_on_paper_says_what_waits_for_trace(client_of, shop, milky):
    batch = shop.plan(version=milky)

    card = client_of(shop.maker).get(address("card", batch))

    assert "Milk at trace" in printed.words(card.content)
