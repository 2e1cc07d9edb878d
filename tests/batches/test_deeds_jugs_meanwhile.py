"""Jugs on a phone and in the book: others were quicker, and the maker chooses."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from batches.models import Deed
from batches.queries.weighing import bench as bench_of
from batches.services.jugs import add_jug, empty_jug, fill_jug, leave_out
from batches.services.pour import pour
from inventory.models import Lot
from tests.batches.phone import Phone, set_stock, stock_is_right
from tests.batches.split_bench import NAMES, split_bench, told_of, weigh_bucket
from tests.batches.test_deeds_jugs import fill
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return split_bench()


@pytest.fixture
def phone(shop):
    batch = shop.plan()
    weigh_bucket(shop, batch)
    return Phone(batch, shop.maker)


@pytest.fixture
def jonas():
    return UserFactory(name="Jonas")


def filled(phone, by, name, grams):
    jug = phone.batch.jugs.get(name=name)
    return fill_jug(jug=jug, grams=Decimal(grams), key=uuid4(), by=by)


def held(phone):
    return {name: grams for name, (grams, _) in told_of(bench_of(phone.batch).split).items()}


@pytest.mark.parametrize(
    ("words", "result", "grams"),
    [("It is one and the same", "aside", 300), ("Mine is right", "done", 320)],
)
def test_a_jug_filled_twice_ends_as_the_maker_says(phone, jonas, words, result, grams):
    filled(phone, jonas, "Charcoal", 300)
    deed = fill(phone, "Charcoal", 320, Black=5, Scent=5)

    answer = phone.send(deed)

    assert answer.data["title"] == "Charcoal was filled already"
    assert "300.00 g of batter, filled by Jonas" in answer.data["words"]
    assert "On this phone: 320.00 g" in answer.data["words"]
    assert phone.choose(deed, answer, words).result == result
    assert held(phone)["Charcoal"] == grams


@pytest.mark.parametrize(
    ("words", "result", "grams"), [("It is filled", "done", 320), ("It is not filled", "aside", None)]
)
def test_a_jug_left_out_elsewhere_ends_as_the_maker_says(phone, jonas, words, result, grams):
    leave_out(jug=phone.batch.jugs.get(name="Charcoal"), by=jonas)
    deed = fill(phone, "Charcoal", 320)

    answer = phone.send(deed)

    assert answer.data["title"] == "Charcoal was left out"
    assert phone.choose(deed, answer, words).result == result
    assert held(phone)["Charcoal"] == grams


@pytest.mark.parametrize(
    ("words", "result", "dropped"), [("It is filled", "aside", False), ("It was left out", "done", True)]
)
def test_a_jug_left_out_here_and_filled_elsewhere_ends_as_the_maker_says(
    phone, jonas, words, result, dropped
):
    filled(phone, jonas, "Rose", 215)
    deed = phone.deed("jug_leave", jug="Rose")

    answer = phone.send(deed)

    assert answer.data["title"] == "Rose was filled"
    assert phone.choose(deed, answer, words).result == result
    assert phone.batch.jugs.get(name="Rose").dropped == dropped


def test_where_not_so_much_is_left_the_jug_got_what_was(phone, jonas):
    filled(phone, jonas, "Base", 1300)
    deed = fill(phone, "Charcoal", 300)

    answer = phone.send(deed)

    assert answer.data["title"] == "Not so much batter is left"
    assert answer.choices[0] == "It got what was left, 134.00 g"
    assert phone.choose(deed, answer, "It got what was left").result == "done"
    assert held(phone)["Charcoal"] == 134


@pytest.mark.parametrize("kind", ["fill", "jug_more", "jug_add"])
def test_where_nothing_is_left_it_is_tried_again_or_kept_aside(phone, jonas, kind):
    filled(phone, jonas, "Base", 1434)
    name = {"fill": "Charcoal", "jug_more": "Base"}.get(kind)
    content = {"jug": name} if name else {"name": "Test bar", "destination": "mould"}
    deed = phone.deed(kind, grams="300", **content)

    answer = phone.send(deed)

    assert [choice["then"] for choice in answer.data["choices"]] == ["again", "aside"]
    assert (name or "Test bar") in answer.data["words"]
    assert phone.choose(deed, answer, "Keep it in the record").result == "aside"


def test_two_portions_of_one_name_are_one_or_both(phone, jonas):
    add_jug(batch=phone.batch, name="Test bar", grams=Decimal(40), key=uuid4(), by=jonas)
    deeds = [
        phone.deed("jug_add", name="test bar", grams=grams, destination="mould") for grams in ("50", "60")
    ]
    answers = [phone.send(deed) for deed in deeds]

    assert answers[0].data["title"] == "There is a jug called Test bar already"
    assert phone.choose(deeds[0], answers[0], "It is one").result == "aside"
    assert held(phone)["Test bar"] == 40
    assert phone.choose(deeds[1], answers[1], "Both are in it").result == "done"
    assert held(phone)["Test bar"] == 100


def test_a_portion_called_like_a_jug_that_is_still_empty_is_kept_aside(phone):
    deed = phone.deed("jug_add", name="Rose", grams="50", destination="mould")

    answer = phone.send(deed)

    assert answer.choices == ["It is one and the same: keep what is in the book"]
    assert "still empty" in answer.data["words"]


def test_plain_batter_for_a_jug_that_was_emptied_meanwhile_is_refused_in_words(phone):
    answer = phone.send(phone.deed("jug_more", jug="Base", grams="20"))

    assert (answer.status, answer.data["words"]) == (422, "Base is empty: fill it first.")


# --- stock --------------------------------------------------------------------------------------------------


def test_what_stock_no_longer_holds_is_counted_anew(shop, phone):
    lot = shop.lots["Black"]
    set_stock(lot, 3, shop.maker)
    deed = fill(phone, "Charcoal", 300, Black=5)

    answer = phone.send(deed)

    assert answer.data["title"] == "Stock holds less now than went into Charcoal"
    assert phone.choose(deed, answer, f"{lot.code} did hold it").result == "done"
    assert Lot.objects.get(pk=lot.pk).on_hand == 5
    assert told_of(bench_of(phone.batch).split)["Charcoal"][1]["Black"] == 5


def test_it_came_out_of_the_other_lots(shop, phone):
    other = shop.lot("Black", quantity=50)
    set_stock(shop.lots["Black"], 3, shop.maker)
    deed = fill(phone, "Charcoal", 300, Black=5)
    deed["content"]["stirred"][0]["lot"] = shop.lots["Black"].pk

    answer = phone.send(deed)

    assert phone.choose(deed, answer, "It came out of the lots that expire first").result == "done"
    taken = {each.lot.pk: each.quantity for each in phone.batch.jugs.get(name="Charcoal").weighings.all()}
    assert taken[shop.lots["Black"].pk] == 3
    assert taken[other.pk] == 2


def test_where_there_is_none_at_all_it_is_tried_again_once_stock_is_right(shop, phone):
    set_stock(shop.lots["Black"], 0, shop.maker)
    deed = fill(phone, "Charcoal", 300, Black=5)

    answer = phone.send(deed)

    assert [choice["then"] for choice in answer.data["choices"]] == ["again", "aside"]
    set_stock(shop.lots["Black"], 50, shop.maker)
    assert phone.choose(deed, answer, "I have set it right").result == "done"


def test_a_lot_used_up_by_another_batch_is_not_swapped_under_a_jug(shop, phone):
    """What went into a jug stays with it: the maker takes the jug back and fills it anew."""
    shop.lot("Black", quantity=50)
    filled(phone, shop.maker, "Base", 1000)
    for name in ("Charcoal", "Rose", "Cream", "For embeds"):
        filled(phone, shop.maker, name, 80)
    for name in ("Petals", "Bees"):
        phone.send(phone.weigh(name, 10, shop.lots[name]))
    set_stock(shop.lots["Black"], 0, shop.maker)
    deed = phone.deed("pour", stop_reason="", words="")

    answer = phone.send(deed)

    assert len(answer.choices) == 2
    assert phone.choose(deed, answer, f"{shop.lots['Black'].code} did hold it").result == "done"
    assert stock_is_right(phone.batch)


# --- the pour -----------------------------------------------------------------------------------------------


@pytest.fixture
def at_the_pour(shop, phone, jonas):
    """All jugs filled and the top weighed; Jonas has emptied two of them since."""
    for name in NAMES:
        card = next(card for card in bench_of(phone.batch).split.cards if card.jug.name == name)
        filled(phone, shop.maker, name, card.grams)
    for name in ("Petals", "Bees"):
        phone.send(phone.weigh(name, 10, shop.lots[name]))
    for name in ("Charcoal", "Cream"):
        empty_jug(jug=phone.batch.jugs.get(name=name), by=jonas)
    return phone


@pytest.mark.parametrize(
    ("words", "grams"), [("They got what was planned", 287), ("Poured without them", None)]
)
def test_a_pour_with_empty_jugs_ends_as_the_maker_says(at_the_pour, words, grams):
    deed = at_the_pour.deed("pour", stop_reason="", words="")

    answer = at_the_pour.send(deed)

    assert answer.data["title"] == "The card is not done"
    assert "Charcoal, Cream" in answer.data["words"]
    assert at_the_pour.choose(deed, answer, words).result == "done"
    assert held(at_the_pour)["Charcoal"] == grams
    assert stock_is_right(at_the_pour.batch)


def test_a_pour_is_not_taken_as_planned_where_the_bucket_is_empty(at_the_pour, jonas):
    base = at_the_pour.batch.jugs.get(name="Base")
    empty_jug(jug=base, by=jonas)
    filled(at_the_pour, jonas, "Base", 1119)

    answer = at_the_pour.send(at_the_pour.deed("pour", stop_reason="", words=""))

    assert answer.choices == [
        "Poured without them",
        "Keep this pour in the record only, and finish the card at the bench",
    ]


@pytest.mark.parametrize("kind", ["fill", "jug_undo", "jug_leave", "jug_more", "jug_add"])
def test_a_batch_poured_meanwhile_keeps_what_was_done_to_jugs_in_its_record(shop, phone, jonas, kind):
    leave_out(jug=phone.batch.jugs.get(name="Cream"), by=jonas)
    pour(batch=phone.batch, key=uuid4(), by=jonas, as_planned=True)
    content = {
        "fill": {"jug": "Rose", "grams": "200"},
        "jug_undo": {"jug": "Cream"},
        "jug_leave": {"jug": "Rose"},
        "jug_more": {"jug": "Base", "grams": "20"},
        "jug_add": {"name": "Test bar", "grams": "20", "destination": "mould"},
    }[kind]
    deed = phone.deed(kind, **content)

    answer = phone.send(deed)

    assert "poured" in answer.data["title"]
    assert phone.choose(deed, answer, "Keep what I did").result == "aside"
    assert Deed.objects.get().set_aside
