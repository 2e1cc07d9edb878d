"""Others were quicker: the maker is told what they did, chooses, and the stock ends right."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone

from batches.models import Weighing
from batches.services.plan import drop_batch
from batches.services.pour import pour, undo_pour
from batches.services.weighing import leave, undo_weighing, weigh
from inventory.services.reconcile import reconcile
from tests.batches.bench import bench
from tests.batches.phone import (
    OLIVE,
    Phone,
    pour_the_rest,
    stock_is_right,
)
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


# --- weighed on another phone -------------------------------------------------------------------------------


@pytest.fixture
def twice():
    """Jonas has weighed the olive oil while this phone was without the network."""
    shop = bench()
    batch = shop.plan()
    jonas = UserFactory(name="Jonas")
    line, lot = batch.lines.get(material__name=OLIVE), shop.lots[OLIVE]
    weigh(line=line, lot=lot, quantity=Decimal(448), key=uuid4(), by=jonas)
    phone = Phone(batch, shop.maker)
    return shop, phone, phone.weigh(OLIVE, 452, lot)


def test_a_line_weighed_twice_is_told_of(twice):
    shop, phone, deed = twice

    answer = phone.send(deed)

    assert answer.data["title"] == "Olive oil was weighed already"
    words = answer.data["words"].replace("\xa0", " ")
    assert f"448 g from {shop.lots[OLIVE].code}, weighed by Jonas" in words
    assert f"On this phone: 452 g from {shop.lots[OLIVE].code}" in words


@pytest.mark.parametrize(
    ("words", "result", "in_the_pot"),
    [
        ("It is one and the same", "aside", [448]),
        ("Both are in the pot", "done", [448, 452]),
        ("Only mine is in the pot", "done", [452]),
    ],
)
def test_a_line_weighed_twice_ends_as_the_maker_says(twice, words, result, in_the_pot):
    shop, phone, deed = twice

    assert phone.choose(deed, phone.send(deed), words).result == result
    assert phone.send(deed).result == "already"

    pour_the_rest(phone)
    weighings = Weighing.objects.filter(line__material__name=OLIVE).order_by("pk")
    assert [weighing.quantity for weighing in weighings] == in_the_pot
    assert shop.on_hand(OLIVE) == 5000 - sum(in_the_pot)
    assert stock_is_right(phone.batch)


def test_both_are_in_the_pot_though_the_other_was_taken_back_since(twice):
    shop, phone, deed = twice
    answer = phone.send(deed)
    undo_weighing(batch=phone.batch, weighing=Weighing.objects.get().pk, by=shop.maker)

    assert phone.choose(deed, answer, "Both are in the pot").result == "done"

    pour_the_rest(phone)
    assert shop.on_hand(OLIVE) == 5000 - 452


def test_a_line_weighed_in_two_parts_elsewhere_is_not_taken_back_as_a_whole(twice):
    shop, phone, _deed = twice
    line = phone.batch.lines.get(material__name="Palm oil")
    lot = shop.lots["Palm oil"]
    for grams, more in ((100, True), (150, False)):
        weigh(line=line, lot=lot, quantity=Decimal(grams), key=uuid4(), by=shop.maker, more_to_come=more)
    answer = phone.send(phone.weigh("Palm oil", 250, lot))

    assert not any(words.startswith("Only mine") for words in answer.choices)


@pytest.mark.parametrize(
    ("words", "result", "in_the_pot"),
    [("It is in the pot", "done", 20), ("It is not in the pot", "aside", 0)],
)
def test_a_line_left_out_elsewhere_ends_as_the_maker_says(words, result, in_the_pot):
    shop = bench()
    phone = Phone(shop.plan(), shop.maker)
    leave(line=phone.batch.lines.get(material__name="Scent"), by=UserFactory())
    deed = phone.weigh("Scent", 20, shop.lots["Scent"])
    answer = phone.send(deed)
    assert answer.data["title"] == "Scent was left out"

    assert phone.choose(deed, answer, words).result == result

    pour_the_rest(phone)
    assert shop.on_hand("Scent") == 5000 - in_the_pot
    assert stock_is_right(phone.batch)


# --- closed meanwhile ---------------------------------------------------------------------------------------


def close(batch, how, by):
    if how == "dropped":
        drop_batch(batch=batch, reason="No time", by=by)
        return
    pour(batch=batch, key=uuid4(), by=by, as_planned=True)
    if how == "undone":
        undo_pour(batch=batch, reason="Wrong mould", by=by)


@pytest.mark.parametrize("how", ["poured", "dropped", "undone"])
def test_a_batch_closed_meanwhile_keeps_the_rest_in_its_record(how):
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    first = phone.weigh("Palm oil", 250, shop.lots["Palm oil"])
    phone.send(first)
    close(batch, how, UserFactory(name="Jonas"))
    castor = batch.lines.get(material__name="Castor oil")
    deeds = [
        phone.weigh(OLIVE, 450, shop.lots[OLIVE]),
        phone.deed("undo", weighing=first["key"]),
        phone.deed("leave", line=castor.pk, done=not castor.done),
        phone.deed("add", lot=shop.lots[OLIVE].pk, quantity="5"),
        phone.deed("count", lot=shop.lots[OLIVE].pk, quantity="9000"),
        phone.deed("pour", words="", stop_reason=""),
    ]
    if how == "dropped":
        deeds.append(phone.deed("lye"))
    stock = shop.on_hand(OLIVE)

    for deed in deeds:
        answer = phone.send(deed)
        assert how in answer.data["title"]
        assert [choice["then"] for choice in answer.data["choices"]] == ["rest_aside"]
        assert phone.choose(deed, answer, "Keep what I did").result == "aside"

    assert shop.on_hand(OLIVE) == stock
    assert batch.deeds.filter(set_aside=True).count() == len(deeds)
    assert reconcile() == []


def test_a_pour_of_another_day_is_told_with_its_day():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True, at=timezone.now() - timedelta(days=3))

    words = phone.send(phone.weigh(OLIVE, 450, shop.lots[OLIVE])).data["words"]

    then = timezone.localdate() - timedelta(days=3)
    assert f"{then:%a} {then.day} {then:%b}" in words


def test_events_still_come_in_after_the_pour():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    assert phone.send(phone.deed("event", kind="gel")).result == "done"
