"""What a phone is given of a batch that is split."""

from __future__ import annotations

import json
from decimal import Decimal
from uuid import uuid4

import pytest

from batches.models import Batch
from batches.queries.pack import pack
from batches.services.jugs import add_jug, fill_jug, leave_out
from recipes.models import NATURAL, Destination
from soapshop.core.queries import workshop
from tests.batches.bench import bench
from tests.batches.phone import Phone
from tests.batches.split_bench import NAMES, split_bench, weigh_bucket

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return split_bench()


@pytest.fixture
def batch(shop) -> Batch:
    batch = shop.plan()
    weigh_bucket(shop, batch)
    return batch


def jugs_of(batch, by):
    return {jug["name"]: jug for jug in Phone(batch, by).pack()["split"]["jugs"]}


def test_a_batch_poured_as_one_has_nothing_of_it():
    shop = bench()

    assert Phone(shop.plan(), shop.maker).pack()["split"] is None


def test_it_holds_the_plan_as_it_is_solved_on_the_phone(shop, batch):
    plan = Phone(batch, shop.maker).pack()["split"]["plan"]

    assert [one["name"] for one in plan["portions"]] == NAMES
    assert (plan["scale"], plan["area_mm2"]) == ({"step": "1.00", "fine": None}, None)
    base, charcoal, *_, kept = plan["portions"]
    assert (base["share"], base["grams"], base["layer_mm"], base["rest"]) == (None, None, None, True)
    assert (charcoal["share"], charcoal["order"], charcoal["destination"]) == (20, 1, "mould")
    assert charcoal["additions"][1] == {"name": "Black", "amount": 2, "basis": "fats"}
    assert (kept["grams"], kept["destination"]) == (100, "kept back")
    assert plan["batter"] == pytest.approx(1434, abs=1)
    assert 0 < plan["fats_share"] < 100


def test_a_jug_says_where_it_goes_and_what_goes_into_it(shop, batch):
    jugs = jugs_of(batch, shop.maker)

    charcoal = jugs["Charcoal"]
    assert (charcoal["planned"], charcoal["grams"], charcoal["dropped"]) == ("287.00", None, False)
    assert (charcoal["leads_to"], charcoal["technique"], charcoal["trace"]) == (
        "this mould",
        "drop swirl",
        "",
    )
    assert Phone(batch, shop.maker).pack()["split"]["natural"] == NATURAL
    assert charcoal["colour"] == shop.materials["Black"].colour
    black = batch.lines.get(material__name="Black")
    assert {"line": black.pk, "name": "Black"} in charcoal["stir"]
    assert (jugs["For embeds"]["leads_to"], jugs["For embeds"]["technique"]) == ("kept back", "")
    assert jugs["Cream"]["stir"] == []


def test_what_was_filled_left_out_and_added_is_told_with_its_weighings(shop, batch):
    key = uuid4()
    fill_jug(jug=batch.jugs.get(name="Charcoal"), grams=Decimal(300), key=key, by=shop.maker)
    leave_out(jug=batch.jugs.get(name="Rose"), by=shop.maker)
    add_jug(
        batch=batch,
        name="Test bar",
        grams=Decimal(40),
        key=uuid4(),
        by=shop.maker,
        destination=Destination.OTHER,
        colour="#aa3355",
    )

    packed = Phone(batch, shop.maker).pack()

    jugs = {jug["name"]: jug for jug in packed["split"]["jugs"]}
    assert (jugs["Charcoal"]["grams"], jugs["Charcoal"]["key"]) == ("300.00", str(key))
    assert jugs["Charcoal"]["filled_at"]
    assert jugs["Rose"]["dropped"]
    added = jugs["Test bar"]
    assert (added["planned"], added["grams"], added["stir"]) == (None, "40.00", [])
    assert (added["leads_to"], added["technique"], added["colour"]) == ("another mould", "", "#aa3355")
    mine = {weighing["jug"] for weighing in packed["weighings"]}
    assert mine == {None, "Charcoal"}


def test_the_top_is_told_with_what_is_counted(shop, batch):
    lines = {line["material"]: line for line in Phone(batch, shop.maker).pack()["lines"]}

    assert (lines["Bees"]["stage"], lines["Bees"]["counted"], lines["Bees"]["planned"]) == (
        "top",
        True,
        "10.00",
    )
    assert (lines["Petals"]["stage"], lines["Petals"]["counted"]) == ("top", False)
    assert (lines["Black"]["stage"], lines["Olive oil"]["stage"]) == ("jug", "")


def test_it_takes_one_query_more_however_many_jugs_are_filled(shop, batch, django_assert_num_queries):
    settings = workshop()
    with django_assert_num_queries(5):
        pack(batch, by=shop.maker, workshop=settings)
    for name in ("Charcoal", "Rose", "Cream"):
        fill_jug(jug=batch.jugs.get(name=name), grams=Decimal(100), key=uuid4(), by=shop.maker)
    with django_assert_num_queries(5):
        packed = pack(batch, by=shop.maker, workshop=settings)
    assert json.loads(json.dumps(packed))["split"] == packed["split"]
