from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import Cure
from batches.services.bars import take_bars
from batches.services.cure import cut
from batches.services.plan import drop_batch, plan_batch
from batches.services.pour import pour, undo_pour
from inventory.services.materials import update_material
from recipes.formulation import Size
from tests.batches.bench import bench, recipe
from tests.batches.pages import address, text_of, weigh, weigh_all

pytestmark = pytest.mark.django_db


def words(answer) -> str:
    """The words of a page, with plain spaces."""
    return text_of(answer).replace("\xa0", " ").replace("&nbsp;", " ").replace("\u202f", " ")


def poured(shop, **kwargs):
    return pour(batch=shop.plan(**kwargs), key=uuid4(), by=shop.maker, as_planned=True)


# --- the record of a batch ------------------------------------------------------------------------


def test_the_record_shows_what_went_in_by_lot_and_supplier_who_poured_it_and_what_it_cost(client_of, viewer):
    shop = bench()
    batch = poured(shop)
    lot = shop.lots["Olive oil"]

    page = client_of(viewer).get(address("batch", batch))

    shown = words(page)
    assert f"Olive oil {lot.code} , {lot.delivery.supplier} 450 g 450 g" in shown
    assert reverse("inventory:lot", args=[lot.pk]) in page.content.decode()
    assert f", {shop.maker}" in shown
    assert f"Materials cost {batch.cost:.2f} EUR" in shown
    assert f"A bar of it {batch.cost / 10:.2f} EUR" in shown
    assert f"Poured {batch.code}" in shown


def test_the_record_says_how_it_was_worked_out_and_from_which_values(client_of):
    shop = bench()
    page = words(client_of(shop.maker).get(address("batch", poured(shop))))

    assert "450 g, 190.0 mg/g, 184.0 to 196.0" in page
    assert "invented for the tests" in page
    assert "g, 97 to 100 % pure" in page


def test_what_was_poured_stays_as_it_was_poured(client_of):
    shop = bench()
    batch = poured(shop)
    update_material(
        material=shop.materials["Olive oil"],
        by=shop.maker,
        name="Renamed oil",
        sap_low=Decimal(100),
        sap_nominal=Decimal(101),
        sap_high=Decimal(102),
    )

    page = words(client_of(shop.maker).get(address("batch", batch)))

    assert "Olive oil" in page
    assert "Renamed oil" not in page
    assert "190.0 mg/g" in page


def test_an_open_batch_shows_its_card_and_leads_on(client_of, viewer):
    shop = bench()
    batch = shop.plan()
    weigh(client_of(shop.maker), batch, "Olive oil", "447")

    page = client_of(shop.maker).get(address("batch", batch))

    assert "450 g 447 g −3 g" in words(page)
    assert address("weigh", batch) in page.content.decode()
    assert address("weigh", batch) not in client_of(viewer).get(address("batch", batch)).content.decode()


def test_what_was_added_beyond_the_card_is_said_so(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh_all(client, batch)
    extra = shop.lot("Scent")
    client.post(address("add_to_pot", batch), {"lot": extra.pk, "quantity": "5", "key": str(uuid4())})

    assert "+5 g" in words(client.get(address("batch", batch)))


def test_the_pour_can_be_undone_until_it_is_cut(client_of):
    shop = bench()
    batch = poured(shop)
    client = client_of(shop.maker)
    assert address("undo", batch) in client.get(address("batch", batch)).content.decode()

    cut(cure=batch.cure, on=timezone.localdate(), bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)

    assert address("undo", batch) not in client.get(address("batch", batch)).content.decode()


def test_the_record_of_an_undone_pour_keeps_what_went_in_and_says_why(client_of):
    shop = bench()
    batch = poured(shop)
    undo_pour(batch=batch, reason="Forgot the scent", by=shop.maker)

    page = words(client_of(shop.maker).get(address("batch", batch)))

    assert "Undone" in page
    assert "Forgot the scent" in page
    assert "450 g" in page
    assert "Cure, day" not in page


# --- all batches ----------------------------------------------------------------------------------


def listed(client, **asked):
    return words(client.get(reverse("batches:list"), asked))


def test_each_batch_says_how_it_stands(client_of, viewer):
    shop = bench(quantity=50_000)
    today = timezone.localdate()
    drop_batch(batch=shop.plan(), reason="No time", by=shop.maker)
    undo_pour(batch=poured(shop), reason="Wrong", by=shop.maker)
    for ready_on, left in ((today + timedelta(days=9), 10), (today, 10), (today, 0)):
        batch = poured(shop)
        cut(cure=batch.cure, on=today, bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)
        Cure.objects.filter(batch=batch).update(ready_on=ready_on, bars_left=left)
    poured(shop)
    shop.plan()

    shown = listed(client_of(viewer))

    for standing in ("Planned", "To cut", "Curing", "Ready", "All gone", "Dropped", "Undone"):
        assert standing in shown


def test_a_batch_is_ready_with_all_its_bars_and_gone_with_none(client_of):
    shop = bench()
    batch = poured(shop)
    today = timezone.localdate()
    cut(cure=batch.cure, on=today, bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)
    Cure.objects.update(ready_on=today)
    client = client_of(shop.maker)

    assert "Ready" in listed(client)
    take_bars(cure=Cure.objects.get(), count=10, kind="sold", key=uuid4(), by=shop.maker)
    assert "All gone" in listed(client)


def test_batches_are_found_by_number_by_recipe_and_by_a_lot_that_went_in(client_of):
    shop = bench()
    mine = poured(shop)
    other = shop.plan(version=recipe(shop.materials, by=shop.maker, name="Coal Barge"))
    client = client_of(shop.maker)

    by_number, by_recipe, by_lot = (
        listed(client, q=q) for q in (mine.code, "barge", shop.lots["Olive oil"].code.lower())
    )

    assert (mine.code in by_number, other.code in by_number) == (True, False)
    assert (mine.code in by_recipe, other.code in by_recipe) == (False, True)
    assert (mine.code in by_lot, other.code in by_lot) == (True, False)


@pytest.mark.parametrize("q", ["<script>alert(1)</script>", "🧼", "\0", "x" * 10_000, "%", "'; --"])
def test_any_words_can_be_searched_for(client_of, maker, q):
    answer = client_of(maker).get(reverse("batches:list"), {"q": q, "page": q})

    assert answer.status_code == 200
    assert "<script>alert" not in answer.content.decode()


def test_batches_come_by_pages(client_of):
    shop = bench()
    for _ in range(27):
        shop.plan()
    client = client_of(shop.maker)

    assert "26-0027" in listed(client)
    assert "26-0001" not in listed(client)
    assert "26-0001" in listed(client, page=2)


def test_an_empty_workshop_has_no_batches(client_of, viewer):
    assert "No batch yet" in listed(client_of(viewer))


# --- how many queries -----------------------------------------------------------------------------


def test_the_list_asks_as_often_for_twenty_batches_as_for_ten(client_of, django_assert_max_num_queries):
    shop = bench(quantity=50_000)
    client = client_of(shop.maker)
    counts = []
    for _ in range(2):
        for _ in range(10):
            poured(shop)
        with django_assert_max_num_queries(15) as asked:
            client.get(reverse("batches:list"), {"q": "four"})
        counts.append(len(asked))

    assert counts[0] == counts[1]


def test_the_record_asks_as_often_with_many_lots_as_with_few(client_of, django_assert_max_num_queries):
    shop = bench(quantity=50)
    for name in shop.materials:
        for _ in range(12):
            shop.lot(name, quantity=100)
    client = client_of(shop.maker)
    counts = []
    for grams in (300, 900):
        batch = plan_batch(
            version=shop.version,
            size=Size(fats=Decimal(grams)),
            planned_for=timezone.localdate(),
            key=uuid4(),
            by=shop.maker,
        )
        pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)
        with django_assert_max_num_queries(15) as asked:
            assert client.get(address("batch", batch)).status_code == 200
        counts.append(len(asked))

    assert counts[0] == counts[1]
