from __future__ import annotations

from uuid import uuid4

import pytest

from batches.models import Batch, Weighing
from batches.queries.remedy import remedy
from batches.queries.weighing import bench as bench_of
from inventory.models import Lot
from shared.saponification import Verdict
from tests.batches.bench import bench, recipe
from tests.batches.pages import NO_WEIGHTS, address, line_of, old_lot, weigh, words
from tests.factories import LotFactory, MaterialFactory

pytestmark = pytest.mark.django_db


def verdict_of(batch: Batch) -> Verdict:
    return bench_of(batch).safety.verdict


def use_up(batch: Batch) -> None:
    """Leaves of each material what the batch has weighed of it, or still wants."""
    for line in batch.lines.prefetch_related("weighings"):
        weighed = sum(weighing.quantity for weighing in line.weighings.all())
        Lot.objects.filter(material=line.material_id).update(on_hand=weighed or line.planned)


def test_too_little_fat_is_stopped_and_the_way_back_makes_it_safe(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "350")
    assert verdict_of(batch) == Verdict.STOP

    page = client.get(address("weigh", batch))
    ways = {addition.lot.material.name: addition for addition in page.context["remedy"].additions}
    assert "Stop" in words(page)
    olive = ways["Olive oil"]
    sent = {"lot": olive.lot.pk, "quantity": f"{olive.grams} g", "key": str(olive.key)}
    answers = [client.post(address("add_to_pot", batch), sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert line_of(batch, "Olive oil").weighings.count() == 2
    assert verdict_of(batch) == Verdict.SAFE


def test_what_is_still_to_be_weighed_is_offered_as_more_of_it_not_as_an_addition(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "350")

    waits = {each.lot.material.name: each.waits for each in remedy(bench_of(batch)).additions}

    assert waits.pop("Olive oil") is False
    assert set(waits.values()) == {True}


def test_the_way_back_comes_out_of_fats_that_can_still_give_it(client_of):
    shop = bench(quantity=460)
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "350")

    found = remedy(bench_of(batch)).additions

    wanted = {"Olive oil": 350, "Coconut oil": 250, "Palm oil": 250}
    assert found
    assert all(each.lot.on_hand - wanted[each.lot.material.name] >= each.grams for each in found)


def test_a_fat_beyond_the_card_helps_where_the_card_has_none_left(client_of):
    shop = bench()
    other = LotFactory(material=MaterialFactory(name="Rice bran oil"))
    batch = shop.plan()
    client = client_of(shop.maker)
    for name in ("Olive oil", "Coconut oil", "Palm oil", "Castor oil"):
        weigh(client, batch, name, "300" if name == "Olive oil" else None)
    use_up(batch)

    (way,) = remedy(bench_of(batch)).additions
    client.post(
        address("add_to_pot", batch), {"lot": way.lot.pk, "quantity": f"{way.grams}", "key": str(uuid4())}
    )

    assert way.lot == other
    assert line_of(batch, "Rice bran oil").extra
    assert verdict_of(batch) == Verdict.SAFE


def test_a_pot_that_is_too_fat_is_offered_lye_with_its_liquid(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    for name in ("Olive oil", "Coconut oil", "Palm oil", "Castor oil", "Water", "Lye"):
        weigh(client, batch, name, "500" if name == "Olive oil" else None)

    found = remedy(bench_of(batch))
    assert found.more_lye
    assert {each.lot.material.name for each in found.additions} == {"Lye", "Water"}
    for each in found.additions:
        sent = {"lot": each.lot.pk, "quantity": f"{each.grams}", "key": str(each.key)}
        assert client.post(address("add_to_pot", batch), sent).status_code == 302

    safety = bench_of(batch).safety
    assert safety.verdict == Verdict.SAFE
    assert safety.nominal == pytest.approx(5, abs=0.7)
    assert not remedy(bench_of(batch)).additions


def test_more_lye_is_that_of_the_sort_that_went_in_where_another_was_left_out(client_of):
    shop = bench()
    ready = MaterialFactory(name="Lye at 50 %", naoh=True, purity_low=49, purity_high=51, dissolved=True)
    LotFactory(material=ready)
    shop.version.ingredients.filter(material__name="Lye").update(amount=50)
    shop.version.ingredients.create(material=ready, amount=50, position=20)
    batch = shop.plan()
    client = client_of(shop.maker)
    for name in ("Olive oil", "Coconut oil", "Palm oil", "Castor oil", "Water", "Lye", "Lye at 50 %"):
        weigh(client, batch, name, {"Olive oil": "500", "Lye": "1"}.get(name))

    found = bench_of(batch)
    ways = remedy(found)

    assert ways.more_lye
    assert line_of(batch, "Lye").done
    assert {each.lot.material.name for each in ways.additions} == {"Lye", "Water"}
    line_of(batch, "Lye").weighings.all().delete()
    left_out = remedy(bench_of(batch))
    assert {each.lot.material.name for each in left_out.additions} == {"Lye at 50 %", "Water"}


def test_where_no_fat_helps_the_foot_says_so(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "350")
    use_up(batch)

    assert "no fat on hand puts it right" in words(client.get(address("weigh", batch)))


def test_so_much_acid_that_no_lye_is_left_is_said_and_can_be_undone(client_of):
    shop = bench()
    acid = MaterialFactory(name="Citric acid", additive=True, acid="citric")
    LotFactory(material=acid)
    materials = shop.materials
    version = recipe(materials, by=shop.maker, name="Sour")
    version.ingredients.create(material=acid, amount=1, position=20)
    batch = shop.plan(version=version)
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    weigh(client, batch, "Citric acid", "4000")

    page = client.get(address("weigh", batch))

    assert page.status_code == 200
    assert "take up all the lye" in words(page)


@pytest.mark.parametrize("typed", NO_WEIGHTS)
def test_nothing_is_added_without_a_weight(client_of, typed):
    shop = bench()
    batch = shop.plan()
    sent = {"lot": shop.lots["Scent"].pk, "quantity": typed, "key": str(uuid4())}

    answer = client_of(shop.maker).post(address("add_to_pot", batch), sent)

    assert answer.status_code == 422
    assert answer.context["form"].errors["quantity"]
    assert answer.context["form"]["quantity"].value() == typed
    assert not Weighing.objects.exists()


def test_more_than_there_is_is_not_added(client_of):
    shop = bench()
    batch = shop.plan()
    other = LotFactory(material=MaterialFactory(name="Rice bran oil"), quantity=100)
    sent = {"lot": other.pk, "quantity": "101", "key": str(uuid4())}

    answer = client_of(shop.maker).post(address("add_to_pot", batch), sent)

    assert answer.status_code == 422
    assert "1 g short" in words(answer)
    assert batch.lines.count() == 7


def test_a_lot_past_its_best_before_is_not_added(client_of):
    shop = bench()
    batch = shop.plan()
    old = old_lot(MaterialFactory(name="Rice bran oil"))
    client = client_of(shop.maker)

    answer = client.post(address("add_to_pot", batch), {"lot": old.pk, "quantity": "10", "key": str(uuid4())})

    assert answer.status_code == 422
    assert old.code not in client.get(address("add_to_pot", batch)).content.decode()


def test_what_is_on_the_card_is_weighed_before_more_of_it_is_added(client_of):
    shop = bench()
    batch = shop.plan()
    sent = {"lot": shop.lots["Olive oil"].pk, "quantity": "10", "key": str(uuid4())}

    answer = client_of(shop.maker).post(address("add_to_pot", batch), sent)

    assert answer.status_code == 422
    assert "Weigh the Olive oil of the card first" in words(answer)
