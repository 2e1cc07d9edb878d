"""A deed counts once: sent again, from two phones, or with a power cut between."""

from __future__ import annotations

import random

import pytest
from django.db import connection, transaction

from batches.models import Weighing
from inventory.services.reconcile import reconcile
from tests.batches.bench import bench
from tests.batches.phone import Phone, books
from tests.core.pictures import jpeg, upload
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


class PowerCut(Exception):
    pass


def crash(execute, sql, params, many, context):
    """The server dies just before it would note that the deed has arrived."""
    if sql.startswith('INSERT INTO "batches_deed"'):
        raise PowerCut
    return execute(sql, params, many, context)


def some_deeds(phone, shop):
    """A pour with a slip taken back, an addition and events."""
    *deeds, last = phone.whole_pour()
    slip = phone.weigh("Olive oil", 999, shop.lots["Olive oil"])
    return [
        slip,
        phone.deed("undo", weighing=slip["key"]),
        *deeds,
        phone.deed("event", kind="light_trace"),
        phone.deed("add", lot=shop.lots["Castor oil"].pk, quantity="3.5"),
        phone.deed("event", kind="room_temperature", celsius="21.5"),
        last,
    ]


def once(shop):
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    assert set(phone.send_all(some_deeds(phone, shop))) == {"done"}
    return books(batch)


@pytest.mark.parametrize("seed", range(4))
def test_deeds_sent_one_to_three_times_with_power_cuts_between_leave_the_same_books(seed):
    chance = random.Random(seed)
    with transaction.atomic():
        shop = bench()
        expected = once(shop)
        transaction.set_rollback(True)
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)

    for deed in some_deeds(phone, shop):
        if chance.random() < 0.4:
            before = books(batch)
            with connection.execute_wrapper(crash), pytest.raises(PowerCut):
                phone.send(deed)
            assert books(batch) == before
        results = [phone.send(deed).result for _ in range(chance.randint(1, 3))]
        assert results == ["done"] + ["already"] * (len(results) - 1)

    found = books(batch)
    for name in ("batch", "lines", "events", "wrong"):
        assert found[name] == expected[name]
    assert [grams for *_, grams in found["weighed"]] == [grams for *_, grams in expected["weighed"]]
    assert [held for _, held in found["stock"]] == [held for _, held in expected["stock"]]


@pytest.mark.parametrize("seed", range(4))
def test_two_phones_that_share_the_work_in_any_order_leave_the_same_books(seed):
    """Each weighs some lines; whichever is heard first, what is in the pot is the same."""
    chance = random.Random(seed)
    shop = bench()
    batch = shop.plan()
    one, other = Phone(batch, shop.maker), Phone(batch, UserFactory())
    *deeds, last = one.whole_pour()
    weighings = [deed for deed in deeds if deed["kind"] == "weigh"]
    mine = chance.sample(weighings, 3)
    queues = {
        one: mine + [deed for deed in deeds if deed["kind"] == "lye"],
        other: [{**deed, "by": other.person.pk} for deed in weighings if deed not in mine],
    }
    sent = []
    while any(queues.values()):
        phone = chance.choice([each for each, queue in queues.items() if queue])
        deed = queues[phone].pop(0)
        sent.append((phone, deed))
        assert phone.send(deed).result == "done"
        phone, deed = chance.choice(sent)
        assert phone.send(deed).result == "already"

    assert one.send(last).result == "done"
    assert shop.on_hand("Olive oil") == 4550
    assert Weighing.objects.count() == len(weighings)
    assert {*Weighing.objects.values_list("by", flat=True)} == {shop.maker.pk, other.person.pk}
    assert reconcile() == []


def test_a_batch_poured_on_two_phones_is_poured_once_and_the_second_is_asked():
    shop = bench()
    batch = shop.plan()
    one, other = Phone(batch, shop.maker), Phone(batch, UserFactory())
    first, second = one.whole_pour(), other.whole_pour()
    assert set(one.send_all(first)) == {"done"}

    answer = other.send(second[0])

    assert answer.status == 409
    assert answer.data["title"] == f"{batch} is poured already"
    assert str(shop.maker) in answer.data["words"]
    assert [choice["then"] for choice in answer.data["choices"]] == ["rest_aside"]
    aside = [{**deed, "aside": True} for deed in second]
    assert set(other.send_all(aside[:-1])) == {"aside"}
    assert other.send(aside[-1], upload(jpeg())).result == "aside"
    assert shop.on_hand("Olive oil") == 4550
    assert batch.deeds.filter(set_aside=True).count() == len(second)
    assert batch.deeds.get(set_aside=True, kind="pour").photo is not None
    assert reconcile() == []
