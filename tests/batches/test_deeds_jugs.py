"""Jugs filled on a phone without network: each goes into the book once, as on the phone."""

from __future__ import annotations

from decimal import Decimal

import pytest

from batches.models import Deed, Jug, Weighing
from batches.queries.weighing import bench as bench_of
from batches.services.weighing import mix_lye
from batches.splitting import Splitting
from soapshop.core.queries import history_of
from tests.bad_input import STRANGE_TEXTS
from tests.batches.bench import bench
from tests.batches.phone import Json, Phone, books, stock_is_right
from tests.batches.split_bench import split_bench, told_of, weigh_bucket

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return split_bench()


@pytest.fixture
def phone(shop):
    """In hand when the lye is in and no jug is filled."""
    batch = shop.plan()
    weigh_bucket(shop, batch)
    return Phone(batch, shop.maker)


def split_of(phone: Phone) -> Splitting:
    found = bench_of(phone.batch).split
    assert found
    return found


def fill(phone: Phone, name: str, grams: object, **stirred: object) -> Json:
    """A jug with so many grams of batter, and of each material by its name."""
    said = [{"line": phone.line(each), "grams": str(amount), "lot": None} for each, amount in stirred.items()]
    return phone.deed("fill", jug=name, grams=str(grams), stirred=said)


def test_a_jug_is_filled_with_what_the_phone_tells(phone):
    deed = fill(phone, "Charcoal", 300, Black="4.5", Scent=4)

    assert phone.send(deed).result == "done"

    grams, stirred = told_of(split_of(phone))["Charcoal"]
    assert (grams, stirred) == (300, {"Black": Decimal("4.5"), "Scent": 4})
    assert phone.send(deed).result == "already"
    assert Weighing.objects.filter(jug__name="Charcoal").count() == 2


def test_what_is_not_told_of_goes_in_as_planned_for_so_much_batter(phone):
    assert phone.send(phone.deed("fill", jug="Charcoal", grams="574")).result == "done"

    assert told_of(split_of(phone))["Charcoal"][1] == {"Black": 8, "Scent": 8}


def test_it_comes_out_of_the_lot_that_was_named(shop, phone):
    other = shop.lot("Black", quantity=50)
    deed = fill(phone, "Charcoal", 300, Black=4)
    deed["content"]["stirred"][0]["lot"] = other.pk

    assert phone.send(deed).result == "done"

    assert Weighing.objects.get(line__material__name="Black").lot == other


def test_a_whole_split_is_told_in_order_and_ends_in_a_pour(phone):
    deeds = [
        fill(phone, "Base", 750, Scent=11),
        phone.deed("jug_leave", jug="Rose"),
        fill(phone, "Charcoal", 300, Black=4, Scent=4),
        phone.deed("jug_undo", jug="Charcoal"),
        fill(phone, "Charcoal", 290, Black=4, Scent=4),
        fill(phone, "Cream", 150),
        phone.deed("jug_add", name="Test bar", grams="40", destination="other", colour="#aa3355"),
        phone.deed("jug_more", jug="Cream", grams="20"),
        fill(phone, "For embeds", 100),
        phone.weigh("Petals", 10, phone.batch.lines.get(material__name="Petals").material.lots.get()),
        phone.weigh("Bees", 10, phone.batch.lines.get(material__name="Bees").material.lots.get()),
        phone.deed("pour", stop_reason="", words=""),
    ]

    assert phone.send_all(deeds) == ["done"] * len(deeds)

    assert {name: grams for name, (grams, _) in told_of(split_of(phone)).items()} == {
        "Base": 750,
        "Charcoal": 290,
        "Rose": None,
        "Cream": 170,
        "For embeds": 100,
        "Test bar": 40,
    }
    added = phone.batch.jugs.get(name="Test bar")
    assert (added.destination, added.colour, added.planned) == ("other", "#aa3355", None)
    assert stock_is_right(phone.batch)
    before = books(phone.batch)
    assert phone.send_all(deeds) == ["already"] * len(deeds)
    assert books(phone.batch) == before


def test_what_came_by_a_form_whose_answer_was_lost_counts_once(shop, phone):
    """The form is in the book under the key that the phone then sends."""
    for kind, content in (
        ("fill", {"jug": "Base", "grams": "700"}),
        ("jug_more", {"jug": "Base", "grams": "5"}),
        ("jug_add", {"name": "Test bar", "grams": "40", "destination": "mould"}),
    ):
        deed = phone.deed(kind, **content)
        assert phone.send(deed).result == "done"
        Deed.objects.filter(key=deed["key"]).delete()

        assert phone.send(deed).result == "done"

    assert told_of(split_of(phone))["Base"][0] == 705
    assert Jug.objects.filter(name="Test bar").count() == 1


def test_what_is_so_already_is_no_conflict(phone):
    deeds = [
        phone.deed("jug_undo", jug="Base"),
        phone.deed("jug_undo", jug="Never was"),
        phone.deed("jug_leave", jug="Never was"),
        phone.deed("jug_leave", jug="Rose"),
        phone.deed("jug_leave", jug="Rose"),
    ]

    assert phone.send_all(deeds) == ["done"] * len(deeds)
    assert [jug.name for jug in phone.batch.jugs.filter(dropped=True)] == ["Rose"]


def test_a_jug_taken_back_gives_back_what_was_stirred_in(phone):
    phone.send(fill(phone, "Charcoal", 300, Black=4, Scent=4))

    assert phone.send(phone.deed("jug_undo", jug="Charcoal")).result == "done"

    assert told_of(split_of(phone))["Charcoal"] == (None, {"Black": 0, "Scent": 0})


@pytest.mark.parametrize("text", STRANGE_TEXTS)
def test_strange_names_of_jugs_do_no_harm(phone, text):
    answers = [
        phone.send(phone.deed("fill", jug=text, grams="10")),
        phone.send(phone.deed("jug_more", jug=text, grams="10")),
        phone.send(phone.deed("jug_add", name="Odd", grams="10", destination=text)),
        phone.send(phone.deed("jug_add", name="Odd", grams="10", destination="mould", colour=text)),
    ]

    assert {answer.status for answer in answers[:3]} == {422}
    assert answers[3].status in (200, 422)
    added = phone.send(phone.deed("jug_add", name=text, grams="10", destination="mould"))
    assert added.status in (200, 422)


@pytest.mark.parametrize("grams", ["0", "-5", "NaN", "Infinity", "", None, "1e9", "🧼", [5]])
def test_amounts_that_cannot_be_are_refused(phone, grams):
    line = phone.line("Black")
    refused = [
        phone.deed("fill", jug="Charcoal", grams=grams),
        phone.deed("jug_more", jug="Charcoal", grams=grams),
        phone.deed("jug_add", name="Odd", grams=grams, destination="mould"),
    ]
    if grams != "0":
        stirred = [{"line": line, "grams": grams, "lot": None}]
        refused.append(phone.deed("fill", jug="Charcoal", grams="300", stirred=stirred))

    assert [phone.send(deed).status for deed in refused] == [422] * len(refused)
    assert not Deed.objects.exists()


@pytest.mark.parametrize(
    "stirred",
    [
        "all of it",
        {"line": 1},
        ["line"],
        [{"line": 1}],
        [{"line": [1], "grams": "1"}],
        [{"line": 1, "grams": "1"}] * 99,
    ],
)
def test_what_was_stirred_in_must_be_readable(phone, stirred):
    assert phone.send(phone.deed("fill", jug="Charcoal", grams="300", stirred=stirred)).status == 422
    assert not Deed.objects.exists()


def test_a_line_that_the_jug_does_not_take_is_refused_and_not_dropped(phone):
    answer = phone.send(fill(phone, "Cream", 140, Black=4))

    assert (answer.status, answer.data["words"]) == (422, "Cream holds nothing of that line.")
    assert not Deed.objects.exists()


def test_before_the_lye_is_in_nothing_is_filled(shop):
    phone = Phone(shop.plan(), shop.maker)

    answers = [
        phone.send(phone.deed("jug_add", name="Odd", grams="10", destination="mould")),
        phone.send(phone.deed("fill", jug="Base", grams="10")),
    ]

    assert [answer.status for answer in answers] == [422, 422]
    assert all(answer.data["words"].startswith("Mix the lye first") for answer in answers)


def test_a_batch_that_is_poured_as_one_has_no_jugs():
    shop = bench()
    phone = Phone(shop.plan(), shop.maker)
    mix_lye(batch=phone.batch, by=shop.maker)

    added = phone.send(phone.deed("jug_add", name="Odd", grams="10", destination="mould"))
    filled = phone.send(phone.deed("fill", jug="Base", grams="10"))

    assert [added.status, filled.status] == [422, 422]
    assert "is not split into portions" in added.data["words"]
    assert "has no jug called Base" in filled.data["words"]


@pytest.mark.parametrize("kind", ["fill", "jug_undo", "jug_leave", "jug_more", "jug_add"])
def test_what_is_kept_aside_stands_in_the_record_in_words(shop, phone, kind):
    content = {
        "fill": fill(phone, "Charcoal", 300, Black="4.5")["content"],
        "jug_undo": {"jug": "Charcoal"},
        "jug_leave": {"jug": "Charcoal"},
        "jug_more": {"jug": "Charcoal", "grams": "20"},
        "jug_add": {"name": "Charcoal", "grams": "20", "destination": "mould"},
    }[kind]

    assert phone.send({**phone.deed(kind, **content), "aside": True}).result == "aside"

    words = Deed.objects.get().words
    assert "Charcoal" in words
    assert words in next(iter(history_of(phone.batch))).what
    if kind == "fill":
        assert words == "Filled Charcoal: 300.00 g of batter, 4.50 g Black"
    assert told_of(split_of(phone))["Charcoal"][0] is None


def test_a_line_that_is_gone_is_told_of_all_the_same(phone):
    deed = phone.deed("fill", jug="Base", grams="9", stirred=[{"line": 10**9, "grams": "1"}])

    assert phone.send({**deed, "aside": True}).result == "aside"

    assert "a line that is no longer there" in Deed.objects.get().words
