"""Phones that pour at the same moment, each over a database connection of its own."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from uuid import UUID, uuid4

import pytest

from batches.models import Batch, Cure
from batches.services.errors import NotOpen
from batches.services.pour import pour
from inventory.services.ledger import NotEnough
from inventory.services.reconcile import reconcile
from recipes.formulation import Size
from tests.batches.bench import Bench, bench
from tests.concurrency.together import at_once

pytestmark = pytest.mark.django_db(transaction=True)


def pouring(shop: Bench, batch: Batch, key: UUID | None = None) -> Callable[[], object]:
    return lambda: pour(batch=batch, key=key or uuid4(), by=shop.maker, as_planned=True)


def test_two_phones_pour_for_the_last_of_a_lot_and_one_is_told():
    shop = bench(quantity=500)  # a pour takes 450 g of it
    first, second = shop.plan(), shop.plan()

    outcomes = at_once([pouring(shop, first), pouring(shop, second)])

    assert {type(outcome) for outcome in outcomes} == {Batch, NotEnough}
    assert shop.on_hand("Olive oil") == Decimal(50)
    assert Cure.objects.count() == 1
    assert reconcile() == []


def test_the_same_pour_from_one_phone_twice_counts_once():
    shop, key = bench(), uuid4()
    batch = shop.plan()

    outcomes = at_once([pouring(shop, batch, key)] * 4)

    assert outcomes == [batch] * 4
    assert shop.on_hand("Olive oil") == Decimal(4550)
    assert Cure.objects.count() == 1


def test_one_batch_poured_from_two_phones_counts_once_and_the_other_is_told():
    shop = bench()
    batch = shop.plan()

    outcomes = at_once([pouring(shop, batch), pouring(shop, batch)])

    assert {type(outcome) for outcome in outcomes} == {Batch, NotOpen}
    assert shop.on_hand("Olive oil") == Decimal(4550)
    assert Cure.objects.count() == 1


def test_eight_phones_pour_eight_batches_and_every_gram_is_booked():
    shop = bench()
    batches = [shop.plan(size=Size(bars=5)) for _ in range(8)]

    outcomes = at_once([pouring(shop, batch) for batch in batches])

    assert outcomes == batches
    assert shop.on_hand("Olive oil") == Decimal(5000 - 8 * 225)
    assert Cure.objects.count() == 8
    assert reconcile() == []


def test_eight_phones_plan_at_once_and_get_eight_numbers():
    shop = bench()

    at_once([lambda: shop.plan()] * 8)

    assert sorted(batch.code[-4:] for batch in Batch.objects.all()) == [f"000{n}" for n in range(1, 9)]
