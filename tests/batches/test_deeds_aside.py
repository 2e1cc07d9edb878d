"""What is kept in the record only changes nothing, and nothing is lost of it."""

from __future__ import annotations

import pytest
from django.urls import reverse

from batches.models import Event, Weighing
from batches.services.plan import drop_batch
from soapshop.core.models import History
from tests.batches.bench import bench
from tests.batches.phone import Phone, books
from tests.core.pictures import jpeg, upload

pytestmark = pytest.mark.django_db


def every_kind(phone, shop):
    lot, line = shop.lots["Olive oil"], phone.line("Olive oil")
    weighed = phone.weigh("Olive oil", 450, lot)
    return {
        "450 g Olive oil from": weighed,
        "Took back a weight": phone.deed("undo", weighing=weighed["key"]),
        "Went on without more Olive oil": phone.deed("leave", line=line, done=True),
        "Back to weigh Olive oil": phone.deed("leave", line=line, done=False),
        "Back to weigh a line that is no longer there": phone.deed("leave", line=10**9, done=False),
        "Mixed the lye": phone.deed("lye"),
        "Seizing: like mash": phone.deed("event", kind="seizing", words="like mash"),
        "Lye 41.5 °C": phone.deed("event", kind="lye_temperature", celsius="41.5"),
        "12.50 g Olive oil from": phone.deed("add", lot=lot.pk, quantity="12.5"),
        "9.00 g from a lot that is no longer there": phone.deed("add", lot=10**9, quantity="9"),
        "Counted 800 g Olive oil from": phone.deed("count", lot=lot.pk, quantity="800"),
        "The pour. Thick. Reason: for laundry": phone.deed("pour", stop_reason="for laundry", words="Thick"),
    }


def test_what_is_kept_aside_is_told_in_words_and_changes_nothing(client_of):
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    deeds = every_kind(phone, shop)
    before = books(batch)

    for deed in deeds.values():
        assert phone.send({**deed, "aside": True}).result == "aside"
        assert phone.send({**deed, "aside": True}).result == "already"

    assert books(batch) == before
    kept = [deed.words.replace("\xa0", " ") for deed in batch.deeds.all()]
    assert [words for words, start in zip(kept, deeds, strict=True) if not words.startswith(start)] == []
    history = [entry.what for entry in History.objects.filter(what__startswith="Kept aside")]
    assert len(history) == len(deeds)
    page = client_of(shop.maker).get(reverse("batches:batch", args=[batch.pk])).content.decode()
    assert page.count("Kept aside") >= 1
    assert "Seizing: like mash" in page


def test_a_weight_taken_back_is_named_when_that_is_kept_aside():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    weighed = phone.weigh("Olive oil", 450, shop.lots["Olive oil"])
    phone.send(weighed)

    phone.send({**phone.deed("undo", weighing=weighed["key"]), "aside": True})

    assert "450" in batch.deeds.get(set_aside=True).words
    assert Weighing.objects.count() == 1


def test_a_picture_is_kept_aside_with_its_event_and_shown(client_of):
    shop = bench()
    batch = shop.plan()
    drop_batch(batch=batch, reason="changed my mind", by=shop.maker)
    phone = Phone(batch, shop.maker)
    deed = phone.deed("event", kind="note", words="too late")

    held = phone.send(deed, upload(jpeg()))
    assert (held.status, held.choices) == (409, ["Keep it in the record"])
    assert phone.send({**deed, "aside": True}, upload(jpeg())).result == "aside"

    photo = batch.deeds.get().photo
    page = client_of(shop.maker).get(reverse("batches:batch", args=[batch.pk])).content.decode()
    assert reverse("core:photo", args=[photo.pk, "thumb"]) in page


def test_a_picture_that_is_none_is_refused_and_no_hindrance_to_keeping_the_rest_aside():
    shop = bench()
    batch = shop.plan()
    phone = Phone(batch, shop.maker)
    deed = phone.deed("event", kind="note", words="see picture")

    refused = phone.send(deed, upload(b"no picture at all"))
    assert (refused.status, refused.result) == (422, "refused")
    assert "not a picture" in refused.data["words"]
    assert not Event.objects.exists()
    assert phone.send({**deed, "aside": True}, upload(b"no picture at all")).result == "aside"

    kept = batch.deeds.get()
    assert kept.photo is None
    assert "could not be kept" in kept.words
