"""When the rack asks for what: cut, turn, weigh in, photograph, ready."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone

from batches.models import BarMovement, Cure
from batches.queries.due import Due, OnRack, Task, on_the_rack
from batches.services.bars import take_bars
from batches.services.cure import add_note, turn, weigh_in
from batches.services.pour import undo_pour
from soapshop.core.models import Workshop
from tests.batches.bench import Bench, bench
from tests.batches.curing import copies, cut_days_ago, days_ago, poured
from tests.core.pictures import jpeg, upload

POUR = date(2026, 5, 4)
WORKSHOP = Workshop(turn_every=7, weigh_in_every=10)


def day(after: int) -> date:
    """So many days after the pour."""
    return POUR + timedelta(days=after)


def held(*, cut: int | None = 1, ready: int = 29, turned: int | None = None, **known: int) -> OnRack:
    """A batch on the rack; days are counted from the pour."""
    cure = Cure(
        cure_days=28,
        started_on=POUR,
        ready_on=day(ready),
        cut_on=None if cut is None else day(cut),
        turned_on=None if turned is None else day(turned),
    )
    return OnRack(cure, **{name: day(after) for name, after in known.items()})


def due(what: OnRack, after: int, workshop: Workshop = WORKSHOP) -> dict[Task, int]:
    """What is due on a day, and since which; days are counted from the pour."""
    return {one.task: (one.on - POUR).days for one in what.due_by(day(after), workshop)}


def test_a_batch_is_cut_and_photographed_the_day_after_its_pour():
    assert due(held(cut=None), 0) == {}
    assert due(held(cut=None), 1) == {Task.CUT: 1, Task.PHOTOGRAPH: 1}
    assert due(held(cut=None), 5)[Task.CUT] == 1


def test_before_the_cut_nothing_is_turned_or_weighed():
    assert not {Task.TURN, Task.WEIGH_IN} & due(held(cut=None), 20).keys()


@pytest.mark.parametrize(("turned", "since"), [(None, 8), (8, 15), (10, 17)])
def test_bars_are_turned_so_many_days_after_the_cut_or_the_last_turn(turned, since):
    bars = held(turned=turned)

    assert Task.TURN not in due(bars, since - 1)
    assert due(bars, since)[Task.TURN] == since
    assert due(bars, since + 3)[Task.TURN] == since


def test_bars_are_weighed_at_the_cut_and_then_in_turns():
    assert due(held(), 1)[Task.WEIGH_IN] == 1
    assert Task.WEIGH_IN not in due(held(weighed_on=1), 10)
    assert due(held(weighed_on=1), 11)[Task.WEIGH_IN] == 11


def test_a_workshop_that_never_turns_or_weighs_is_not_told_to():
    never = Workshop(turn_every=0, weigh_in_every=0)

    assert set(due(held(), 20, never)) == {Task.PHOTOGRAPH}


@pytest.mark.parametrize(
    ("after", "pictured", "since"),
    [
        (0, None, None),
        (1, None, 1),
        (6, None, 1),
        (7, 1, 7),
        (7, 7, None),
        (13, 6, 7),
        (20, 0, 14),
        (20, 15, None),
        (28, 20, 28),
        (28, 28, None),
    ],
)
def test_photos_are_due_on_four_days_until_one_was_taken_since(after, pictured, since):
    known = {} if pictured is None else {"pictured_on": pictured}

    assert due(held(**known), after).get(Task.PHOTOGRAPH) == since


def test_the_most_pressing_task_comes_first():
    assert list(due(held(), 9)) == [Task.TURN, Task.WEIGH_IN, Task.PHOTOGRAPH]


def test_no_upkeep_falls_on_the_day_the_bars_are_ready_or_later():
    short = held(ready=8)

    assert Task.TURN not in due(short, 20)
    assert [one for one in ahead(short, 2) if one.on >= day(8)] == [Due(Task.READY, day(8))]


def ahead(what: OnRack, after: int, until: int = 400) -> list[Due]:
    return list(what.ahead(day(after), WORKSHOP, upkeep_until=day(until)))


def test_ahead_are_all_turns_weighings_and_photos_until_the_bars_are_ready():
    coming = ahead(held(weighed_on=1, pictured_on=1), 2)

    assert [(one.on - POUR).days for one in coming if one.task == Task.TURN] == [8, 15, 22]
    assert [(one.on - POUR).days for one in coming if one.task == Task.WEIGH_IN] == [11, 21]
    assert [(one.on - POUR).days for one in coming if one.task == Task.PHOTOGRAPH] == [7, 14, 28]
    assert [(one.on - POUR).days for one in coming if one.task == Task.READY] == [29]


def test_after_an_overdue_turn_the_next_is_reckoned_from_today():
    turns = [(one.on - POUR).days for one in ahead(held(), 12) if one.task == Task.TURN]

    assert turns == [8, 19, 26]


def test_ahead_upkeep_ends_where_it_is_asked_to():
    assert [one.on for one in ahead(held(), 2, until=10) if one.task == Task.TURN] == [day(8)]


def test_a_batch_that_is_not_cut_is_ready_as_reckoned_until_that_day_has_passed():
    assert Task.READY in {one.task for one in ahead(held(cut=None), 3)}
    assert {one.task for one in ahead(held(cut=None), 40)} == {Task.CUT, Task.PHOTOGRAPH}


# From the books.


@pytest.fixture
def shop(db) -> Bench:
    return bench(quantity=50_000)


def on_rack() -> list[OnRack]:
    return on_the_rack(timezone.localdate())


def test_the_last_weighing_and_the_last_photo_are_those_that_count(shop):
    cure = cut_days_ago(shop, 9)
    for days in (9, 3):
        weigh_in(cure=cure, on=days_ago(days), grams=Decimal(100), bars=1, key=uuid4(), by=shop.maker)
    add_note(cure=cure, words="", photo=upload(jpeg()), key=uuid4(), by=shop.maker)
    add_note(cure=cure, words="No picture", photo=None, key=uuid4(), by=shop.maker)

    (found,) = on_rack()

    assert (found.weighed_on, found.pictured_on) == (days_ago(3), days_ago(0))


def test_turning_puts_off_the_next_turn(shop):
    cure = cut_days_ago(shop, 8)
    assert Task.TURN in {one.task for one in on_rack()[0].due_by(days_ago(0), WORKSHOP)}

    turn(cure=cure, key=uuid4(), by=shop.maker)

    assert on_rack()[0].turn(WORKSHOP) == Due(Task.TURN, days_ago(-7))


def test_what_is_ready_sold_out_or_undone_is_not_looked_at(shop):
    cut_days_ago(shop, 28)
    sold = cut_days_ago(shop, 3)
    take_bars(cure=sold, count=10, kind=BarMovement.Kind.SOLD, key=uuid4(), by=shop.maker)
    undo_pour(batch=poured(shop, 2).batch, reason="Wrong mould", by=shop.maker)

    assert on_rack() == []


def test_the_rack_is_read_by_one_query(shop, django_assert_num_queries):
    cure = cut_days_ago(shop, 3)
    copies(cure, 20)
    with django_assert_num_queries(1):
        assert len(on_rack()) == 21
