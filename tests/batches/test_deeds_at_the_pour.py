"""The pour of a phone meets a book that has moved on: the maker chooses, and the stock ends right."""

from __future__ import annotations

from decimal import Decimal
from uuid import UUID

import pytest

from batches.models import Weighing
from batches.services.weighing import undo_weighing
from tests.batches.bench import bench
from tests.batches.phone import (
    OLIVE,
    Phone,
    all_but_the_pour,
    set_stock,
    stock_is_right,
    taken,
)
from tests.factories import LotFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def used_up():
    """All is weighed, and then another batch takes olive oil out of the same lot."""
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = phone.whole_pour()
    phone.send_all(deeds)
    other = shop.lot(OLIVE, quantity=2000)
    set_stock(shop.lots[OLIVE], 300, shop.maker)
    return shop, phone, other, last


@pytest.mark.parametrize(
    ("words", "from_the_lot", "from_the_other"),
    [("It came out of", 0, 450), ("300", 300, 150), ("{lot}", 450, 0)],
)
def test_a_lot_used_up_before_the_pour_ends_as_the_maker_says(used_up, words, from_the_lot, from_the_other):
    shop, phone, other, last = used_up
    lot = shop.lots[OLIVE].code
    answer = phone.send(last)
    assert answer.data["title"] == f"{lot} holds less now"
    assert "another batch" in answer.data["words"]

    assert phone.choose(last, answer, words.format(lot=lot)).result == "done"

    expected = {lot: from_the_lot, other.code: from_the_other}
    assert taken(phone.batch) == {code: grams for code, grams in expected.items() if grams}
    assert stock_is_right(phone.batch)
    other.refresh_from_db()
    assert other.on_hand == 2000 - from_the_other


def test_a_pour_out_of_a_lot_used_up_is_kept_aside_and_poured_later(used_up):
    shop, phone, _other, last = used_up

    assert phone.choose(last, phone.send(last), "Keep this pour").result == "aside"

    phone.batch.refresh_from_db()
    assert phone.batch.is_open
    set_stock(shop.lots[OLIVE], 450, shop.maker)
    assert phone.send(phone.deed("pour", words="", stop_reason="")).result == "done"
    assert stock_is_right(phone.batch)


@pytest.mark.parametrize(
    ("holds", "from_the_lot", "from_the_other"), [(220, [220], [30, 200]), (300, [50, 250], [150])]
)
def test_of_several_weights_out_of_one_lot_those_are_noted_anew_that_it_cannot_give(
    holds, from_the_lot, from_the_other
):
    shop = bench()
    batch = shop.plan()
    phone, lot = Phone(batch, shop.maker), shop.lots[OLIVE]
    phone.send(phone.weigh(OLIVE, 250, lot, more_to_come=True))
    phone.send(phone.weigh(OLIVE, 200, lot))
    last = all_but_the_pour(phone)
    other = shop.lot(OLIVE, quantity=1000)
    set_stock(lot, holds, shop.maker)

    assert phone.choose(last, phone.send(last), str(holds)).result == "done"

    assert sorted(Weighing.objects.filter(lot=lot).values_list("quantity", flat=True)) == from_the_lot
    assert sorted(Weighing.objects.filter(lot=other).values_list("quantity", flat=True)) == from_the_other
    assert stock_is_right(batch)


def test_a_lot_used_up_without_another_leaves_the_count_and_the_record():
    shop = bench()
    phone = Phone(shop.plan(), shop.maker)
    last = all_but_the_pour(phone)
    set_stock(shop.lots[OLIVE], 0, shop.maker)

    answer = phone.send(last)

    assert len(answer.choices) == 2
    assert phone.choose(last, answer, shop.lots[OLIVE].code).result == "done"
    assert stock_is_right(phone.batch)


def test_an_addition_out_of_a_lot_used_up_is_noted_anew():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    rice = LotFactory(quantity=100)
    other = LotFactory(material=rice.material, quantity=300)
    phone.send(phone.deed("add", lot=rice.pk, quantity="60"))
    last = all_but_the_pour(phone)
    set_stock(rice, 20, shop.maker)

    assert phone.choose(last, phone.send(last), "20").result == "done"

    assert taken(batch, rice.material.name) == {rice.code: 20, other.code: 40}
    assert stock_is_right(batch)


@pytest.fixture
def taken_back():
    """All is weighed and sent; then another phone takes the olive oil back."""
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = phone.whole_pour()
    for deed in deeds:
        if deed["content"].get("line") == phone.line(OLIVE):
            deed["content"]["quantity"] = "452.5"
            key = deed["key"]
        phone.send(deed)
    undo_weighing(batch=batch, key=UUID(key), by=UserFactory())
    return shop, phone, last


def test_a_weight_taken_back_elsewhere_is_put_back_as_it_was(taken_back):
    shop, phone, last = taken_back
    answer = phone.send(last)
    assert answer.data["title"] == "The card is not done"
    assert "Olive oil" in answer.data["words"]
    assert f"Olive oil from {shop.lots[OLIVE].code}" in answer.choices[0]

    assert phone.choose(last, answer, "It is in the pot").result == "done"

    assert taken(phone.batch) == {shop.lots[OLIVE].code: Decimal("452.5")}
    assert stock_is_right(phone.batch)


def test_what_soap_needs_is_not_poured_without(taken_back):
    _shop, phone, last = taken_back

    answer = phone.send(last)

    assert not any(words.startswith("Poured without") for words in answer.choices)
    assert phone.choose(last, answer, "Keep this pour").result == "aside"
    phone.batch.refresh_from_db()
    assert phone.batch.is_open


def test_lines_still_open_are_filled_as_planned_or_left_out():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = phone.whole_pour()
    palm, scent = phone.line("Palm oil"), phone.line("Scent")
    for deed in deeds:
        if deed["content"].get("line") == palm:
            half = phone.weigh("Palm oil", 100, shop.lots["Palm oil"], more_to_come=True)
            assert phone.send(half).result == "done"
        elif deed["content"].get("line") != scent:
            assert phone.send(deed).result == "done"

    answer = phone.send(last)
    assert [words.split(":")[0] for words in answer.choices][:2] == ["It is in the pot", "Poured without it"]
    assert phone.choose(last, answer, "It is in the pot").result == "done"

    assert shop.on_hand("Palm oil") == 4750
    assert shop.on_hand("Scent") == 4980
    assert stock_is_right(batch)


def test_lines_still_open_are_left_out_where_the_maker_says_so():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = phone.whole_pour()
    phone.send_all([deed for deed in deeds if deed["content"].get("line") != phone.line("Scent")])

    assert phone.choose(last, phone.send(last), "Poured without it").result == "done"

    assert shop.on_hand("Scent") == 5000
    assert stock_is_right(batch)


def test_a_line_that_has_all_its_weight_only_needs_closing():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = phone.whole_pour()
    phone.send_all(deeds)
    batch.lines.filter(material__name=OLIVE).update(done=False)

    answer = phone.send(last)

    assert answer.choices[0] == "It is in the pot: nothing more is missing"
    assert phone.choose(last, answer, "It is in the pot").result == "done"
    assert shop.on_hand(OLIVE) == 4550


def test_a_line_that_the_stock_cannot_fill_is_not_offered_as_filled():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = phone.whole_pour()
    phone.send_all([deed for deed in deeds if deed["content"].get("line") != phone.line("Scent")])
    set_stock(shop.lots["Scent"], 5, shop.maker)

    answer = phone.send(last)

    assert answer.choices == [
        "Poured without it",
        "Keep this pour in the record only, and finish the card at the bench",
    ]
