"""Turning bars on the rack, one batch with a tap or several at once."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse
from django.utils import timezone

from batches.models import BarMovement, Cure, CureNote
from batches.queries.rack import to_turn
from batches.services.bars import take_bars
from batches.services.cure import turn, turn_all
from soapshop.core.models import Workshop
from tests.bad_input import EMOJI, NUL, SCRIPT, TOO_LONG
from tests.batches.bench import Bench, bench
from tests.batches.curing import copies, cut_days_ago, days_ago, poured

pytestmark = pytest.mark.django_db

URL = reverse("batches:turn")
TODAY = reverse("batches:today")


@pytest.fixture
def shop() -> Bench:
    return bench(quantity=50_000)


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


def turned_on(cure: Cure):
    return Cure.objects.get(pk=cure.pk).turned_on


def test_turning_is_noted_in_the_record(shop):
    cure = cut_days_ago(shop, 3)

    turn(cure=cure, key=uuid4(), by=shop.maker)

    assert turned_on(cure) == timezone.localdate()
    note = cure.notes.get()
    assert (note.words, note.by) == ("Turned", shop.maker)


def test_sent_twice_it_counts_once(shop, time_machine):
    cure, key = cut_days_ago(shop, 3), uuid4()
    turn(cure=cure, key=key, by=shop.maker)
    time_machine.move_to(timezone.now() + timedelta(days=3))
    turn(cure=cure, key=key, by=shop.maker)

    assert cure.notes.count() == 1
    assert turned_on(cure) == days_ago(3)


def test_two_people_who_turn_on_one_day_turn_once(shop, maker):
    cure = cut_days_ago(shop, 3)
    turn(cure=cure, key=uuid4(), by=shop.maker)
    turn(cure=cure, key=uuid4(), by=maker)

    assert cure.notes.count() == 1


def test_a_batch_without_bars_is_not_turned(shop):
    sold = cut_days_ago(shop, 3)
    take_bars(cure=sold, count=10, kind=BarMovement.Kind.SOLD, key=uuid4(), by=shop.maker)

    for cure in (poured(shop, 2), sold):
        with pytest.raises(ValidationError, match="no bars to turn"):
            turn(cure=cure, key=uuid4(), by=shop.maker)


def test_several_are_turned_all_or_none(shop):
    good, bad = cut_days_ago(shop, 3), poured(shop, 2)

    with pytest.raises(ValidationError):
        turn_all(cures=[good, bad], key=uuid4(), by=shop.maker)
    assert turned_on(good) is None

    more, key = cut_days_ago(shop, 4), uuid4()
    for _ in range(2):
        turn_all(cures=[good, more], key=key, by=shop.maker)
    assert turned_on(good) == turned_on(more) == timezone.localdate()
    assert CureNote.objects.count() == 2


def test_a_viewer_turns_nothing(shop, viewer, client_of):
    cure = cut_days_ago(shop, 3)
    with pytest.raises(PermissionDenied):
        turn(cure=cure, key=uuid4(), by=viewer)
    assert client_of(viewer).post(URL, {"batch": cure.batch_id, "key": uuid4()}).status_code == 403


# The page.


def test_what_is_due_is_ticked_and_what_has_lain_longest_comes_first(shop, phone):
    fresh, old = cut_days_ago(shop, 2), cut_days_ago(shop, 9)
    poured(shop, 1)

    answer = phone.get(URL)

    assert [(row.cure, row.due) for row in answer.context["rows"]] == [(old, True), (fresh, False)]
    page = answer.content.decode()
    assert f'value="{old.batch_id}" checked' in page
    assert f'value="{fresh.batch_id}">' in page


def test_a_workshop_that_never_turns_has_nothing_ticked(shop):
    cut_days_ago(shop, 20)

    assert [row.due for row in to_turn(days_ago(0), Workshop(turn_every=0))] == [False]


def test_all_that_is_ticked_is_turned(shop, phone):
    one, two, left = (cut_days_ago(shop, days) for days in (9, 8, 2))

    sent = phone.post(URL, {"batch": [one.batch_id, two.batch_id], "key": uuid4()}, follow=True)

    assert sent.redirect_chain == [(reverse("batches:rack"), 302)]
    assert "Turned 2 batches." in sent.content.decode()
    assert turned_on(one) == turned_on(two) == timezone.localdate()
    assert turned_on(left) is None


def test_one_tap_on_today_turns_a_batch_and_leads_back_there(shop, phone):
    cure = cut_days_ago(shop, 9)
    assert f'name="batch" value="{cure.batch_id}"' in phone.get(TODAY).content.decode()

    sent = phone.post(URL, {"batch": cure.batch_id, "key": uuid4(), "back": "today"}, follow=True)

    assert sent.redirect_chain == [(TODAY, 302)]
    page = sent.content.decode()
    assert f"Turned {cure.batch.code}." in page
    assert f'name="batch" value="{cure.batch_id}"' not in page


def test_nothing_ticked_is_told(shop, phone):
    cut_days_ago(shop, 9)

    answer = phone.post(URL, {"key": uuid4()})

    assert answer.status_code == 422
    assert "Tick the bars that you have turned." in answer.content.decode()


@pytest.mark.parametrize("bad", ["0", "-1", "x", "9" * 400, EMOJI, SCRIPT, NUL, TOO_LONG])
def test_what_is_not_on_the_rack_is_told(shop, phone, bad):
    cure = cut_days_ago(shop, 9)

    answer = phone.post(URL, {"batch": [cure.batch_id, bad], "key": uuid4()})

    assert answer.status_code == 422
    assert "no longer on the rack" in answer.content.decode()
    assert turned_on(cure) is None


def test_an_empty_rack_says_what_turning_is_for(phone):
    assert "No bars to turn" in phone.get(URL).content.decode()


def test_the_queries_do_not_grow_with_the_rack(shop, phone, django_assert_num_queries):
    cure = cut_days_ago(shop, 9)
    for _ in range(2):
        with django_assert_num_queries(4):
            phone.get(URL)
        copies(cure, 10)
