"""Deeds done without the network come into the book in order, with the time of the phone."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, CureNote, Deed, Event, State, Weighing
from batches.services.pour import pour
from batches.services.weighing import leave, mix_lye, weigh
from inventory.models import Lot
from inventory.services.reconcile import reconcile
from tests.batches.bench import bench
from tests.batches.phone import Phone, books
from tests.core.pictures import jpeg, upload
from tests.factories import LotFactory

pytestmark = pytest.mark.django_db


def test_the_whole_pour_by_deeds_is_the_same_as_by_the_pages(client_of):
    shop = bench()
    by_pages, by_phone = shop.plan(), shop.plan()
    client = client_of(shop.maker)
    for line in by_pages.lines.select_related("material"):
        if not line.before_the_lye:
            client.post(reverse("batches:lye", args=[by_pages.pk]))
        data = {"quantity": line.planned, "lot": shop.lots[line.material.name].pk, "key": uuid4()}
        client.post(reverse("batches:weigh", args=[by_pages.pk]), {"line": line.pk, **data})
    photo = upload(jpeg())
    client.post(
        reverse("batches:confirm", args=[by_pages.pk]),
        {"words": "Light trace.", "photo": photo, "key": uuid4()},
    )

    phone = Phone(by_phone, shop.maker)
    *deeds, last = phone.whole_pour()
    assert set(phone.send_all(deeds)) == {"done"}
    assert phone.send(last, upload(jpeg())).result == "done"

    one, other = books(by_pages), books(by_phone)
    assert one["batch"] == other["batch"]
    assert one["batch"][0] == State.POURED
    assert one["weighed"] == other["weighed"]
    assert one["lines"] == other["lines"]
    assert {words for words, _ in one["notes"]} == {"Light trace."}
    assert CureNote.objects.exclude(photo=None).count() == 2
    assert shop.on_hand("Olive oil") == 5000 - 2 * 450
    frozen = [Batch.objects.get(pk=batch.pk).frozen for batch in (by_pages, by_phone)]
    assert frozen[0] == frozen[1]
    assert one["wrong"] == []


def test_a_pour_with_two_photos_and_events_on_the_way():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = phone.whole_pour()
    phone.send_all(deeds)
    temperature = phone.deed("event", kind="lye_temperature", words="", celsius="41.5")
    trace = phone.deed("event", kind="light_trace", words="after a minute", celsius=None)

    assert phone.send(temperature).result == "done"
    assert phone.send(trace, upload(jpeg())).result == "done"
    assert phone.send(last, upload(jpeg())).result == "done"

    assert batch.events.get(kind="lye_temperature").celsius == Decimal("41.5")
    assert batch.events.get(kind="light_trace").photo is not None
    assert CureNote.objects.get().photo is not None


def test_a_deed_keeps_the_time_of_the_phone():
    shop = bench()
    batch = shop.plan()
    Batch.objects.filter(pk=batch.pk).update(planned_at=timezone.now() - timedelta(hours=5))
    phone, then = Phone(batch, shop.maker), timezone.now() - timedelta(hours=3)

    phone.send(phone.deed("lye", at=then))
    phone.send(phone.weigh("Olive oil", 450, shop.lots["Olive oil"], at=then))
    phone.send(phone.deed("event", kind="gel", at=then))

    batch.refresh_from_db()
    assert batch.lye_mixed_at == then
    assert Weighing.objects.get().at == then
    assert Event.objects.get().at == then


@pytest.mark.parametrize(
    "wrong_by", [timedelta(days=-20_000), timedelta(days=400)], ids=["long ago", "ahead"]
)
def test_a_phone_whose_clock_is_wrong_still_tells_of_its_pour(wrong_by):
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    deeds = phone.whole_pour()
    clock = timezone.now() + wrong_by

    results = phone.send_all([{**deed, "at": clock.isoformat()} for deed in deeds])

    batch.refresh_from_db()
    assert set(results) == {"done"}
    assert batch.planned_at <= batch.poured_at <= timezone.now()
    assert set(Deed.objects.values_list("done_at", flat=True)) == {clock}


def test_a_lot_used_on_its_last_day_counts_though_it_is_told_later():
    shop = bench()
    batch = shop.plan()
    yesterday = timezone.localdate() - timedelta(days=1)
    Batch.objects.filter(pk=batch.pk).update(planned_at=timezone.now() - timedelta(days=3))
    Lot.objects.filter(pk=shop.lots["Olive oil"].pk).update(best_before=yesterday)
    phone = Phone(batch, shop.maker)
    then = timezone.now() - timedelta(days=1)

    answer = phone.send(phone.weigh("Olive oil", 450, shop.lots["Olive oil"], at=then))

    assert answer.result == "done"


def test_what_was_weighed_and_taken_back_is_gone():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    weighed = phone.weigh("Olive oil", 450, shop.lots["Olive oil"])
    undone = phone.deed("undo", weighing=weighed["key"])

    assert phone.send_all([weighed, undone, weighed, undone]) == ["done", "done", "already", "already"]

    assert not Weighing.objects.exists()
    assert batch.lines.get(material__name="Olive oil").done is False


def test_a_line_left_out_and_taken_up_again():
    shop = bench()
    batch = shop.plan()
    phone, line = Phone(batch, shop.maker), batch.lines.get(material__name="Scent")

    phone.send(phone.deed("leave", line=line.pk, done=True))
    line.refresh_from_db()
    assert line.done
    phone.send(phone.deed("leave", line=line.pk, done=False))
    line.refresh_from_db()
    assert not line.done


def test_something_beyond_the_card_becomes_a_line_of_its_own():
    shop = bench()
    batch = shop.plan()
    rice = LotFactory(quantity=500)
    phone = Phone(batch, shop.maker)

    assert phone.send(phone.deed("add", lot=rice.pk, quantity="50")).result == "done"

    assert batch.lines.get(extra=True).weighings.get().quantity == 50


def test_what_is_added_to_a_line_that_is_open_counts_towards_it():
    shop = bench()
    batch = shop.plan()
    phone, lot = Phone(batch, shop.maker), shop.lots["Olive oil"]
    line = batch.lines.get(material__name="Olive oil")

    phone.send(phone.deed("add", lot=lot.pk, quantity="200"))
    line.refresh_from_db()
    assert not line.done
    phone.send(phone.deed("add", lot=lot.pk, quantity="250"))
    line.refresh_from_db()

    assert line.done
    assert batch.lines.filter(extra=True).count() == 0
    assert sum(weighing.quantity for weighing in line.weighings.all()) == 450


def test_a_count_sets_a_lot_right_and_never_takes_away_from_it():
    shop = bench(quantity=500)
    batch = shop.plan()
    phone, lot = Phone(batch, shop.maker), shop.lots["Olive oil"]

    phone.send(phone.deed("count", lot=lot.pk, quantity="620"))
    assert shop.on_hand("Olive oil") == 620
    phone.send(phone.deed("count", lot=lot.pk, quantity="300"))

    assert shop.on_hand("Olive oil") == 620
    assert lot.movements.get(kind="corrected").reason.startswith("It held more than the book said")
    assert reconcile() == []


def test_what_is_so_already_is_no_conflict():
    shop = bench()
    batch = shop.plan()
    phone, scent = Phone(batch, shop.maker), batch.lines.get(material__name="Scent")
    leave(line=scent, by=shop.maker)
    mix_lye(batch=batch, by=shop.maker)
    batch.refresh_from_db()
    mixed = batch.lye_mixed_at

    results = phone.send_all(
        [
            phone.deed("leave", line=scent.pk, done=True),
            phone.deed("lye"),
            phone.deed("undo", weighing=str(uuid4())),
        ]
    )

    batch.refresh_from_db()
    assert results == ["done"] * 3
    assert batch.lye_mixed_at == mixed


def test_a_form_that_arrived_though_the_phone_never_saw_the_answer_counts_once():
    """The bench page sent it with its key, and the phone kept it under the same key."""
    shop = bench()
    batch = shop.plan()
    phone, key = Phone(batch, shop.maker), uuid4()
    line, lot = batch.lines.get(material__name="Olive oil"), shop.lots["Olive oil"]
    weigh(line=line, lot=lot, quantity=Decimal(450), key=key, by=shop.maker)

    answer = phone.send({**phone.weigh("Olive oil", 450, lot), "key": str(key)})

    assert answer.result == "done"
    assert Weighing.objects.get().quantity == 450


def test_an_addition_and_a_pour_that_arrived_by_a_form_count_once():
    shop = bench()
    batch = shop.plan()
    phone, rice = Phone(batch, shop.maker), LotFactory(quantity=500)
    added = phone.deed("add", lot=rice.pk, quantity="50")
    *deeds, poured = phone.whole_pour()
    client, address = phone.client, reverse("batches:add_to_pot", args=[batch.pk])
    client.post(address, {"lot": rice.pk, "quantity": "50", "key": added["key"]})
    assert phone.send(added).result == "done"
    phone.send_all(deeds)
    pour(batch=batch, key=UUID(poured["key"]), by=shop.maker)

    assert phone.send(poured).result == "done"

    rice.refresh_from_db()
    assert rice.on_hand == 450
    assert shop.on_hand("Olive oil") == 4550
