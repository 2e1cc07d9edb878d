"""Who may tell what, and what the book refuses."""

from __future__ import annotations

import itertools
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from django.utils import timezone

from batches.models import Deed, Weighing
from batches.services.deeds import receive
from batches.services.told import MixLye, Told
from batches.services.weighing import undo_weighing, weigh
from tests.batches.bench import bench
from tests.batches.phone import Phone
from tests.core.pictures import jpeg, upload
from tests.factories import LotFactory, MaterialFactory, OwnerFactory, UserFactory, ViewerFactory

pytestmark = pytest.mark.django_db


def test_what_another_did_waits_until_they_sign_in():
    shop = bench()
    batch = shop.plan()
    phone, other = Phone(batch, shop.maker), UserFactory(name="Mirela")

    answer = phone.send({**phone.deed("lye"), "by": other.pk})
    unknown = phone.send({**phone.deed("lye"), "by": 10**9})

    assert (answer.status, answer.result) == (403, "other_person")
    assert "Mirela" in answer.data["words"]
    assert (unknown.status, unknown.result) == (403, "other_person")
    assert not Deed.objects.exists()


def test_a_viewer_may_tell_nothing():
    shop = bench()
    phone = Phone(shop.plan(), ViewerFactory())

    answer = phone.send(phone.deed("lye"))

    assert (answer.status, answer.result) == (403, "not_allowed")
    assert answer.data["words"]
    assert not Deed.objects.exists()


def test_the_service_asks_who_it_is_as_well():
    from django.core.exceptions import PermissionDenied

    batch = bench().plan()

    with pytest.raises(PermissionDenied):
        receive(batch=batch, told=Told(uuid4(), timezone.now(), MixLye()), by=ViewerFactory())


def test_one_key_is_not_told_of_two_batches():
    shop = bench()
    one, other = Phone(shop.plan(), shop.maker), Phone(shop.plan(), shop.maker)
    deed = one.deed("lye")

    assert one.send(deed).result == "done"
    assert other.send(deed).status == 422
    other.batch.refresh_from_db()
    assert other.batch.lye_mixed_at is None


def lye_heavy(phone):
    deeds = phone.whole_pour()
    lye = phone.line("Lye")
    for deed in deeds:
        if deed["content"].get("line") == lye:
            deed["content"]["quantity"] = "190"
    return deeds


def test_a_stop_is_refused_without_an_owners_reason():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = lye_heavy(phone)
    phone.send_all(deeds)

    answer = phone.send({**last, "content": {"stop_reason": "I say so", "words": ""}})

    assert (answer.status, answer.data["field"]) == (422, "stop_reason")
    assert "lye-heavy" in answer.data["words"]
    batch.refresh_from_db()
    assert batch.is_open
    assert not Deed.objects.filter(kind="pour").exists()


def test_an_owner_gives_the_reason_and_the_same_deed_pours_it():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, OwnerFactory())
    *deeds, last = lye_heavy(phone)
    phone.send_all(deeds)
    assert phone.send(last).status == 422

    answer = phone.send({**last, "content": {"stop_reason": "For the laundry", "words": ""}})

    batch.refresh_from_db()
    assert answer.result == "done"
    assert (batch.verdict, batch.stop_reason) == ("stop", "For the laundry")


def test_a_pot_that_cannot_be_reckoned_is_refused_in_words():
    shop = bench()
    shop.materials["Sour"] = MaterialFactory(name="Sour", additive=True, acid="citric")
    shop.lots["Sour"] = LotFactory(material=shop.materials["Sour"])
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    *deeds, last = phone.whole_pour()
    phone.send_all([*deeds, phone.deed("add", lot=shop.lots["Sour"].pk, quantity="900")])

    answer = phone.send(last)

    assert (answer.status, answer.data["words"]) == (
        422,
        "The acids take up all the lye, so none is left for the fats.",
    )


def test_things_of_another_batch_or_of_none_are_refused():
    shop = bench()
    batch, stranger = shop.plan(), shop.plan()
    phone, olive = Phone(batch, shop.maker), shop.lots["Olive oil"]
    boxes = LotFactory(material=MaterialFactory(packaging=True))
    line, others = phone.line("Olive oil"), stranger.lines.get(material__name="Olive oil").pk
    amount = {"quantity": "450", "more_to_come": False}
    refused = [
        phone.deed("weigh", line=others, lot=olive.pk, **amount),
        phone.deed("weigh", line=10**15, lot=olive.pk, **amount),
        phone.deed("weigh", line=line, lot=10**15, **amount),
        phone.deed("weigh", line=line, lot=shop.lots["Lye"].pk, **amount),
        phone.deed("leave", line=others, done=True),
        phone.deed("leave", line=line, done=True),
        phone.deed("add", lot=10**15, quantity="5"),
        phone.deed("add", lot=boxes.pk, quantity="5"),
        phone.deed("count", lot=10**15, quantity="5"),
        phone.deed("event", kind="lye_temperature"),
        phone.deed("event", kind="gel", celsius="40"),
        phone.deed("event", kind="lye_temperature", celsius="900"),
        phone.deed("event", kind="note"),
    ]

    answers = [phone.send(deed) for deed in refused]

    assert [(answer.status, bool(answer.data["words"])) for answer in answers] == [(422, True)] * len(refused)
    assert not Deed.objects.exists()
    assert not Weighing.objects.exists()
    weighing = weigh(
        line=stranger.lines.get(pk=others), lot=olive, quantity=Decimal(450), key=uuid4(), by=shop.maker
    )
    assert phone.send(phone.deed("undo", weighing=str(weighing.key))).result == "done"
    assert Weighing.objects.exists(), "another batch's weight is none of this phone's"


def test_only_an_event_or_a_pour_comes_with_a_picture():
    shop = bench()
    phone = Phone(shop.plan(), shop.maker)

    answer = phone.send(phone.deed("lye"), upload(jpeg()))

    assert (answer.status, answer.data["words"]) == (422, "Only an event or a pour comes with a picture.")


def test_a_weight_taken_back_on_another_phone_meanwhile_is_no_trouble():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    weighed = phone.weigh("Olive oil", 450, shop.lots["Olive oil"])
    phone.send(weighed)
    undo_weighing(batch=batch, key=UUID(weighed["key"]), by=UserFactory())

    assert phone.send(phone.deed("undo", weighing=weighed["key"])).result == "done"
    assert phone.send(weighed).result == "already"
    assert list(itertools.chain(Weighing.objects.all())) == []
