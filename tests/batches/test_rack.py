"""The rack: what is to be cut first, then by the day it is ready."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import BarMovement, Cure
from batches.queries.rack import rack
from batches.queries.rows import Stage
from batches.services.bars import take_bars
from batches.services.cure import weigh_in
from batches.services.pour import undo_pour
from tests.batches.bench import Bench, bench
from tests.batches.curing import copies, cut_days_ago, days_ago, poured

pytestmark = pytest.mark.django_db

TODAY = timezone.localdate
URL = reverse("batches:rack")


@pytest.fixture
def shop() -> Bench:
    return bench(quantity=50_000)


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


def stages() -> dict[Stage, list[str]]:
    return {group.stage: [row.cure.batch.code for row in group.rows] for group in rack(today=TODAY()).groups}


def test_what_is_to_be_cut_comes_first_then_what_is_ready_first(shop):
    later = cut_days_ago(shop, 2)
    week = cut_days_ago(shop, 25)
    old_pour, new_pour = poured(shop, 3), poured(shop, 1)

    assert list(stages().items()) == [
        (Stage.TO_CUT, [old_pour.batch.code, new_pour.batch.code]),
        (Stage.THIS_WEEK, [week.batch.code]),
        (Stage.LATER, [later.batch.code]),
    ]


@pytest.mark.parametrize(
    ("cut_ago", "stage"), [(27, Stage.THIS_WEEK), (21, Stage.THIS_WEEK), (20, Stage.LATER)]
)
def test_ready_this_week_means_within_seven_days(shop, cut_ago, stage):
    cut_days_ago(shop, cut_ago)

    assert list(stages()) == [stage]


def test_bars_leave_the_rack_on_the_day_they_are_ready(shop):
    cut_days_ago(shop, 28)

    assert stages() == {}


def test_a_batch_that_was_never_cut_stays_on_the_rack_for_good(shop):
    forgotten = poured(shop, 60)

    assert stages() == {Stage.TO_CUT: [forgotten.batch.code]}


def test_a_batch_without_bars_left_or_with_its_pour_undone_is_gone(shop):
    cure = cut_days_ago(shop, 2)
    take_bars(cure=cure, count=10, kind=BarMovement.Kind.WASTED, key=uuid4(), by=shop.maker)
    undo_pour(batch=poured(shop, 1).batch, reason="Wrong mould", by=shop.maker)

    assert stages() == {}


def test_the_bars_of_a_group_are_those_of_all_pages(shop):
    copies(cut_days_ago(shop, 25, bars=7), 29)

    page = rack(today=TODAY(), page=2)

    assert [(group.bars, len(group.rows)) for group in page.groups] == [(210, 5)]


def test_the_weeks_to_come_tell_how_many_bars_will_be_ready(shop):
    cut_days_ago(shop, 27, bars=5)
    cut_days_ago(shop, 21, bars=10)
    cut_days_ago(shop, 10, bars=30)

    weeks = rack(today=TODAY()).weeks

    assert [(week.bars, week.share) for week in weeks] == [(15, 50), (0, 0), (30, 100)]
    assert weeks[0].start == days_ago(-1)


def test_a_row_says_how_fast_it_still_loses_weight(shop, phone):
    cure = cut_days_ago(shop, 14)
    for days, grams in ((14, 100), (7, 90)):
        weigh_in(cure=cure, on=days_ago(days), grams=Decimal(grams), bars=1, key=uuid4(), by=shop.maker)

    assert "still losing 10.0\N{NO-BREAK SPACE}% a week" in phone.get(URL).content.decode()


def test_one_weigh_in_says_nothing_of_the_pace(shop, phone):
    cure = cut_days_ago(shop, 14)
    weigh_in(cure=cure, on=TODAY(), grams=Decimal(90), bars=1, key=uuid4(), by=shop.maker)

    page = phone.get(URL).content.decode()
    assert cure.batch.code in page
    assert "losing" not in page


def test_an_empty_rack_says_what_belongs_there(phone):
    page = phone.get(URL).content.decode()

    assert "The rack is empty" in page
    assert reverse("batches:pour") in page


def test_a_viewer_sees_the_rack_and_is_offered_no_cut(shop, viewer, client_of):
    cure = poured(shop, 1)

    page = client_of(viewer).get(URL).content.decode()

    assert cure.batch.code in page
    assert reverse("batches:cut", args=[cure.batch_id]) not in page


def test_any_page_number_gives_a_page(shop, phone):
    cut_days_ago(shop, 2)

    for page in ("0", "-1", "99", "x", "9" * 50, "\0"):
        assert phone.get(URL, {"page": page}).status_code == 200, page


def test_the_queries_do_not_grow_with_the_rack(shop, phone, django_assert_num_queries):
    cure = cut_days_ago(shop, 2)
    weigh_in(cure=cure, on=TODAY(), grams=Decimal(90), bars=1, key=uuid4(), by=shop.maker)
    copies(cure, 9)
    for _ in range(2):
        with django_assert_num_queries(8):
            assert phone.get(URL).status_code == 200
        copies(Cure.objects.get(pk=cure.pk), 10)
