"""A lot is not what the phone took it for: the maker is told, chooses, and the stock ends right."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from batches.models import Deed, Weighing
from inventory.models import Lot
from tests.batches.bench import bench
from tests.batches.phone import (
    OLIVE,
    Phone,
    pour_the_rest,
    set_stock,
    stock_is_right,
    taken,
)
from tests.factories import LotFactory

pytestmark = pytest.mark.django_db


# --- a lot holds less ---------------------------------------------------------------------------------------


@pytest.fixture
def short():
    """450 g of olive oil were weighed on the phone, and the book knows of 300 g in the lot."""
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    other = shop.lot(OLIVE, quantity=2000)
    deed = phone.weigh(OLIVE, 450, shop.lots[OLIVE])
    set_stock(shop.lots[OLIVE], 300, shop.maker)
    return shop, phone, other, deed


def test_a_lot_that_holds_less_is_told_of_with_what_can_be_done(short):
    shop, phone, other, deed = short

    answer = phone.send(deed)

    lot = shop.lots[OLIVE].code
    assert answer.status == 409
    assert answer.data["title"] == f"{lot} holds less now"
    assert "300\xa0g" in answer.data["words"]
    assert "450\xa0g" in answer.data["words"]
    assert [words.replace("\xa0", " ").replace("\u202f", " ") for words in answer.choices] == [
        f"It came out of {other.code}, which holds 2 000 g",
        f"300 g came out of {lot}, the other 150 g out of {other.code}",
        f"{lot} did hold it: set its stock to 450 g",
        "Keep it in the record only",
    ]
    assert not Weighing.objects.exists()
    assert not Deed.objects.exists()


def test_it_came_out_of_another_lot(short):
    shop, phone, other, deed = short

    assert phone.choose(deed, phone.send(deed), "It came out of").result == "done"

    pour_the_rest(phone)
    assert taken(phone.batch) == {other.code: 450}
    assert stock_is_right(phone.batch)
    assert shop.on_hand(OLIVE) == 300


def test_it_came_out_of_two_lots(short):
    shop, phone, other, deed = short

    assert phone.choose(deed, phone.send(deed), "300").result == "done"

    pour_the_rest(phone)
    assert taken(phone.batch) == {shop.lots[OLIVE].code: 300, other.code: 150}
    assert stock_is_right(phone.batch)
    assert shop.on_hand(OLIVE) == 0


def test_what_came_out_of_two_lots_is_taken_back_as_one(short):
    _shop, phone, _other, deed = short
    phone.choose(deed, phone.send(deed), "300")
    assert Weighing.objects.count() == 2

    phone.send(phone.deed("undo", weighing=deed["key"]))

    assert not Weighing.objects.exists()
    assert phone.batch.lines.get(material__name=OLIVE).done is False


def test_the_lot_did_hold_it(short):
    shop, phone, _other, deed = short

    assert phone.choose(deed, phone.send(deed), shop.lots[OLIVE].code).result == "done"

    pour_the_rest(phone)
    assert taken(phone.batch) == {shop.lots[OLIVE].code: 450}
    assert stock_is_right(phone.batch)
    assert shop.on_hand(OLIVE) == 0


def test_it_is_kept_in_the_record_only_and_weighed_anew(short):
    _shop, phone, other, deed = short

    assert phone.choose(deed, phone.send(deed), "Keep it").result == "aside"

    assert "450" in phone.batch.deeds.get(set_aside=True).words
    assert phone.send(phone.weigh(OLIVE, 440, other)).result == "done"
    pour_the_rest(phone)
    assert taken(phone.batch) == {other.code: 440}
    assert stock_is_right(phone.batch)


def test_a_lot_that_is_empty_is_not_split_and_a_small_one_not_offered():
    shop = bench()
    phone = Phone(shop.plan(), shop.maker)
    small = shop.lot(OLIVE, quantity=100)
    deed = phone.weigh(OLIVE, 450, shop.lots[OLIVE])
    set_stock(shop.lots[OLIVE], 0, shop.maker)

    answer = phone.send(deed)

    assert not any(small.code in words for words in answer.choices)
    assert len(answer.choices) == 2


def test_what_was_added_out_of_a_lot_that_holds_less():
    shop = bench()
    phone = Phone(shop.plan(), shop.maker)
    rice = LotFactory(quantity=200)
    more = LotFactory(material=rice.material, quantity=500)
    deed = phone.deed("add", lot=rice.pk, quantity="250")

    answer = phone.send(deed)
    assert phone.choose(deed, answer, "200").result == "done"

    pour_the_rest(phone)
    assert taken(phone.batch, rice.material.name) == {rice.code: 200, more.code: 50}
    assert stock_is_right(phone.batch)


def test_what_was_added_to_an_open_line_out_of_a_lot_that_holds_less(short):
    shop, phone, other, _deed = short
    deed = phone.deed("add", lot=shop.lots[OLIVE].pk, quantity="450")

    assert phone.choose(deed, phone.send(deed), "It came out of").result == "done"

    pour_the_rest(phone)
    assert taken(phone.batch) == {other.code: 450}


# --- past its best-before -----------------------------------------------------------------------------------


@pytest.fixture
def expired():
    shop = bench()
    phone = Phone(shop.plan(), shop.maker)
    lot = shop.lots[OLIVE]
    Lot.objects.filter(pk=lot.pk).update(best_before=timezone.localdate() - timedelta(days=1))
    return shop, phone, lot, phone.weigh(OLIVE, 450, lot)


def test_a_lot_past_its_best_before_gives_way_to_another(expired):
    shop, phone, lot, deed = expired
    other = shop.lot(OLIVE, quantity=1000)

    answer = phone.send(deed)

    assert answer.data["title"] == f"{lot.code} is past its best-before"
    assert phone.choose(deed, answer, f"It came out of {other.code}").result == "done"
    pour_the_rest(phone)
    assert taken(phone.batch) == {other.code: 450}
    assert stock_is_right(phone.batch)


def test_a_best_before_that_was_wrong_is_set_right_and_it_is_tried_again(expired):
    _shop, phone, lot, deed = expired
    answer = phone.send(deed)
    assert phone.send(deed).status == 409
    Lot.objects.filter(pk=lot.pk).update(best_before=None)

    assert phone.choose(deed, answer, "I have set its best-before right").result == "done"
    pour_the_rest(phone)


def test_what_was_added_from_a_lot_past_its_best_before_is_kept_aside(expired):
    _shop, phone, lot, _deed = expired
    deed = phone.deed("add", lot=lot.pk, quantity="20")

    assert phone.choose(deed, phone.send(deed), "Keep it in the record").result == "aside"
