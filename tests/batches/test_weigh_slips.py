from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from batches.models import State, Weighing
from batches.services.pour import pour
from tests.batches.bench import bench
from tests.batches.pages import address, line_of, weigh, words

pytestmark = pytest.mark.django_db


def test_the_same_tap_twice_counts_once(client_of):
    shop = bench()
    batch = shop.plan()
    client, key = client_of(shop.maker), str(uuid4())

    answers = [weigh(client, batch, "Olive oil", key=key) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Weighing.objects.count() == 1


def test_a_second_phone_that_is_late_is_told_and_weighs_nothing_twice(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")

    late = weigh(client, batch, "Olive oil")

    assert Weighing.objects.count() == 1
    assert "Olive oil has been weighed already" in words(client.get(late.url))


def test_the_last_weight_is_undone_in_one_tap_and_its_line_comes_back(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    page = client.get(address("weigh", batch))
    last = page.context["board"].last

    answer = client.post(address("weigh_undo", batch), {"weighing": last.pk})
    again = client.post(address("weigh_undo", batch), {"weighing": last.pk})

    assert "Undo Olive oil, 450 g" in words(page)
    assert not Weighing.objects.exists()
    assert "Now weigh, 1 of 7 Olive oil" in words(client.get(answer.url))
    assert again.status_code == 302


def test_an_earlier_weight_can_be_undone_from_the_card(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    weigh(client, batch, "Coconut oil")
    olive = line_of(batch, "Olive oil")

    page = client.get(address("weigh", batch), {"line": olive.pk})
    assert f'name="weighing" value="{olive.weighings.get().pk}"' in page.content.decode()
    client.post(address("weigh_undo", batch), {"weighing": olive.weighings.get().pk})

    assert [weighing.line.material.name for weighing in Weighing.objects.all()] == ["Coconut oil"]


@pytest.mark.parametrize("weighing", ["", "0", "x", "9" * 30])
def test_undoing_what_does_not_exist_changes_nothing(client_of, weighing):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")

    assert client.post(address("weigh_undo", batch), {"weighing": weighing}).status_code == 302
    assert Weighing.objects.count() == 1


def test_the_weight_of_another_batch_is_not_undone(client_of):
    shop = bench()
    mine, other = shop.plan(), shop.plan()
    client = client_of(shop.maker)
    weigh(client, other, "Olive oil")

    client.post(address("weigh_undo", mine), {"weighing": Weighing.objects.get().pk})

    assert Weighing.objects.count() == 1


# --- who and when ---------------------------------------------------------------------------------


@pytest.mark.parametrize("page", ["weigh", "add_to_pot", "lye", "confirm", "drop", "events"])
def test_only_makers_work_at_the_bench(client_of, viewer, page):
    shop = bench()

    assert client_of(viewer).get(address(page, shop.plan())).status_code == 403


@pytest.mark.parametrize("page", ["weigh_undo", "leave", "scale", "event_undo"])
def test_a_deed_is_not_done_by_looking(client_of, page):
    shop = bench()

    assert client_of(shop.maker).get(address(page, shop.plan())).status_code == 405


@pytest.mark.parametrize("page", ["weigh", "add_to_pot", "lye", "confirm", "drop"])
def test_a_batch_that_is_poured_leads_to_its_record(client_of, page):
    shop = bench()
    batch = shop.plan()
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)
    client = client_of(shop.maker)

    assert client.get(address(page, batch)).url == address("batch", batch)
    assert client.post(address(page, batch), {}).url == address("batch", batch)


def test_nothing_is_undone_or_left_out_of_a_batch_that_is_poured(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    client.post(address("weigh_undo", batch), {"weighing": Weighing.objects.order_by("pk")[0].pk})
    client.post(address("leave", batch), {"line": line_of(batch, "Scent").pk, "open": "on"})

    batch.refresh_from_db()
    assert batch.state == State.POURED
    assert Weighing.objects.count() == 7
    assert line_of(batch, "Scent").done


def test_a_batch_that_does_not_exist_is_not_found(client_of, maker):
    client = client_of(maker)

    for page in ("weigh", "add_to_pot", "lye", "confirm", "drop", "undo", "batch"):
        assert client.get(reverse(f"batches:{page}", args=[99])).status_code == 404
