"""Today: what is due, each with its one action."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import BarMovement, Batch, Cure
from batches.queries.due import Task
from batches.queries.today import MOST_ROWS, MOST_TASKS, today_at_work
from batches.services.bars import take_bars
from batches.services.cure import add_note, weigh_in
from batches.services.plan import plan_batch
from batches.services.weighing import weigh
from inventory.models import Lot, Material
from recipes.formulation import Size
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import short_day
from tests.batches.bench import Bench, bench
from tests.batches.curing import copies, cut_days_ago, days_ago, poured
from tests.batches.pages import words
from tests.core.pictures import jpeg, upload
from tests.factories import LotFactory, MaterialFactory, VersionFactory

pytestmark = pytest.mark.django_db

URL = reverse("batches:today")


@pytest.fixture
def shop() -> Bench:
    return bench(quantity=50_000)


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


def due():
    return today_at_work(timezone.localdate(), Workshop())


def codes(rows) -> list[str]:
    return [row.cure.batch.code for row in rows]


def link(name: str, pk: int) -> str:
    return reverse(f"batches:{name}", args=[pk])


def test_an_open_pour_is_gone_on_with(shop, phone):
    batch = shop.plan()
    line = batch.lines.select_related("material").first()
    lot = shop.lots[line.material.name]
    weigh(line=line, lot=lot, quantity=line.planned, key=uuid4(), by=shop.maker)

    page = phone.get(URL).content.decode()

    assert "1 of 7 weighed" in page
    assert link("weigh", batch.pk) in page


def test_a_pour_of_another_day_is_not_told_before_it_is_begun(shop):
    later = planned_for(shop, days_ago(-2))
    missed = planned_for(shop, days_ago(1))

    assert [row.batch for row in due().pours.rows] == [missed]

    line = later.lines.select_related("material").first()
    weigh(line=line, lot=shop.lots[line.material.name], quantity=line.planned, key=uuid4(), by=shop.maker)
    assert [row.batch for row in due().pours.rows] == [later, missed]


def planned_for(shop: Bench, day: date) -> Batch:
    return plan_batch(version=shop.version, size=Size(), planned_for=day, key=uuid4(), by=shop.maker)


def test_what_was_poured_yesterday_or_before_is_to_be_cut_first(shop, phone):
    turning = cut_days_ago(shop, 20)
    yesterday, older = poured(shop, 1), poured(shop, 5)
    poured(shop, 0)

    assert codes(due().tasks.rows) == [older.batch.code, yesterday.batch.code, turning.batch.code]
    assert [row.main.task for row in due().tasks.rows] == [Task.CUT, Task.CUT, Task.TURN]
    assert link("cut", older.batch_id) in phone.get(URL).content.decode()


def test_all_that_is_to_be_done_with_a_batch_stands_in_one_row(shop, phone):
    cure = cut_days_ago(shop, 7)

    (row,) = due().tasks.rows
    assert [one.task for one in row.tasks] == [Task.TURN, Task.WEIGH_IN, Task.PHOTOGRAPH]
    assert row.since == days_ago(7)
    page = phone.get(URL).content.decode()
    assert reverse("batches:turn") in page
    assert link("weigh_in", cure.batch_id) in page
    assert link("note", cure.batch_id) in page


def test_what_is_due_today_is_not_called_late(shop, phone):
    cure = poured(shop, 1)

    assert due().tasks.rows[0].since is None
    assert "since" not in words(phone.get(URL)).partition(cure.batch.code)[2][:40]


def test_what_is_overdue_says_since_when(shop, phone):
    poured(shop, 4)

    assert f"since {short_day(days_ago(3))}" in words(phone.get(URL))


def test_what_has_waited_longest_comes_first_after_what_is_to_be_cut(shop):
    older, newer = cut_days_ago(shop, 9), cut_days_ago(shop, 8)
    newest = cut_days_ago(shop, 3)

    assert codes(due().tasks.rows) == [cure.batch.code for cure in (older, newer, newest)]


def test_of_very_many_the_first_dozen_are_shown(shop, phone):
    copies(poured(shop, 3), MOST_TASKS)

    assert due().tasks.count == f"{MOST_TASKS}+"
    assert "The whole rack" in phone.get(URL).content.decode()


def test_bars_are_new_on_the_shelf_for_a_week(shop, phone):
    cut_days_ago(shop, 35)
    old, new = cut_days_ago(shop, 34), cut_days_ago(shop, 28)

    assert codes(due().ready.rows) == [old.batch.code, new.batch.code]
    assert link("take", new.batch_id) in phone.get(URL).content.decode()


def test_bars_that_come_ready_within_a_week_are_told(shop):
    cut_days_ago(shop, 20)
    soon, sooner = cut_days_ago(shop, 21), cut_days_ago(shop, 27)

    assert codes(due().soon.rows) == [sooner.batch.code, soon.batch.code]


def test_bars_that_are_gone_are_not_due(shop):
    cure = cut_days_ago(shop, 28)
    take_bars(cure=cure, count=10, kind=BarMovement.Kind.SOLD, key=uuid4(), by=shop.maker)

    assert not due().on_the_bench


def test_what_runs_out_is_told_with_what_is_left(shop, phone):
    material = MaterialFactory(name="Tallow", reorder_level=2000)
    LotFactory(material=material, quantity=1500)
    Material.objects.exclude(pk=material.pk).update(reorder_level=None)

    (row,) = due().low.rows
    assert (row.material, row.left, row.level) == (
        material,
        "1\N{NARROW NO-BREAK SPACE}500\N{NO-BREAK SPACE}g",
        "2\N{NARROW NO-BREAK SPACE}000\N{NO-BREAK SPACE}g",
    )
    assert reverse("inventory:material", args=[material.pk]) in phone.get(URL).content.decode()


def test_what_goes_off_is_told_the_first_in_front(shop, phone):
    Lot.objects.update(best_before=None)
    soon = LotFactory(best_before=days_ago(-20))
    old = LotFactory(best_before=days_ago(2), received_on=days_ago(100))
    LotFactory(best_before=days_ago(-200))

    assert [(row.lot, row.expired) for row in due().expiring.rows] == [(old, True), (soon, False)]
    assert reverse("inventory:lot", args=[old.pk]) in phone.get(URL).content.decode()


def test_of_many_the_first_few_are_shown_with_the_way_to_all(shop, phone):
    copies(cut_days_ago(shop, 28), MOST_ROWS)

    assert due().ready.count == f"{MOST_ROWS}+"
    assert "The whole shelf" in phone.get(URL).content.decode()


def test_when_nothing_waits_the_next_bars_are_named(shop, phone):
    nothing_is_due(cut_days_ago(shop, 2), shop)

    page = phone.get(URL).content.decode()

    assert "Nothing waits for you today" in page
    assert "Next on the shelf is Four oils" in page


def nothing_is_due(cure: Cure, shop: Bench) -> None:
    """Weighed in and photographed today."""
    weigh_in(cure=cure, on=days_ago(0), grams=Decimal(100), bars=1, key=uuid4(), by=shop.maker)
    add_note(cure=cure, words="", photo=upload(jpeg()), key=uuid4(), by=shop.maker)


def test_an_empty_workshop_is_welcomed_with_its_first_steps(maker, client_of):
    page = client_of(maker).get(URL).content.decode()

    for first in ("inventory:receive", "recipes:add", "batches:pour"):
        assert reverse(first) in page
    assert "Nothing waits" not in page


def test_the_first_steps_are_ticked_off_and_gone_with_the_first_pour(shop):
    steps = due().first_steps
    assert (steps.received, steps.written, steps.planned) == (True, True, False)

    poured(shop, 0)
    assert due().first_steps is None


def test_a_recipe_alone_is_the_second_step(db):
    VersionFactory()
    steps = due().first_steps

    assert (steps.received, steps.written, steps.planned) == (False, True, False)


def test_a_viewer_sees_what_is_due_and_is_offered_nothing_to_change(shop, viewer, client_of):
    cure = poured(shop, 1)

    page = client_of(viewer).get(URL).content.decode()

    assert cure.batch.code in page
    assert "Photo" in page
    assert link("cut", cure.batch_id) not in page
    assert link("note", cure.batch_id) not in page
    assert "Plan a pour" not in page


def test_today_is_the_workshops_own_day(shop, workshop, phone, time_machine):
    workshop.time_zone = "Pacific/Auckland"
    workshop.save()
    time_machine.move_to("2026-05-11 20:00Z")

    assert "Tuesday 12 May" in phone.get(URL).content.decode()


def test_the_queries_do_not_grow_with_the_workshop(shop, phone, django_assert_num_queries):
    started = [shop.plan() for _ in range(2)]
    assert started
    cures = [poured(shop, 3), cut_days_ago(shop, 30), cut_days_ago(shop, 25), cut_days_ago(shop, 3)]
    LotFactory(best_before=timezone.localdate() + timedelta(days=3))
    Material.objects.update(reorder_level=1_000_000)
    for _ in range(2):
        with django_assert_num_queries(10):
            assert phone.get(URL).status_code == 200
        for cure in cures:
            copies(cure, 10)
