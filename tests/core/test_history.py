from __future__ import annotations

from datetime import date
from decimal import Decimal

from soapshop.core.models import History
from soapshop.core.queries import history_of
from soapshop.core.services.history import record
from tests.factories import UserFactory


def test_the_newest_comes_first_and_only_of_the_thing_itself(maker):
    other = UserFactory()
    for number in range(3):
        record(by=maker, subject=maker, what=f"step {number}")
    record(by=maker, subject=other, what="elsewhere")

    assert [line.what for line in history_of(maker)] == ["step 2", "step 1", "step 0"]
    assert [line.what for line in history_of(maker, limit=1)] == ["step 2"]


def test_who_did_it_comes_in_the_same_query(maker, django_assert_num_queries):
    record(by=maker, subject=maker, what="one")
    record(by=maker, subject=maker, what="two")

    with django_assert_num_queries(1):
        assert {str(line.by) for line in history_of(maker)} == {str(maker)}


def test_decimals_and_days_are_kept_exactly_as_words(maker):
    record(by=None, subject=maker, what="x", detail={"grams": Decimal("0.10"), "on": date(2026, 5, 12)})

    assert History.objects.get().detail == {"grams": "0.10", "on": "2026-05-12"}


def test_a_line_that_is_too_long_is_cut_rather_than_lost(maker):
    record(by=maker, subject=maker, what="x" * 1000)

    assert len(History.objects.get().what) == 400
