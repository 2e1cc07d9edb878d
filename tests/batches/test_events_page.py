from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone

from batches.models import Event
from batches.services.plan import drop_batch
from batches.services.pour import pour
from batches.services.weighing import mix_lye
from tests.bad_input import REFUSED_TEXTS, STRANGE_TEXTS
from tests.batches.pages import address, weigh, words
from tests.core.pictures import jpeg, upload
from tests.factories import WorkshopFactory

pytestmark = pytest.mark.django_db

HTMX = {"HTTP_HX_REQUEST": "true"}


def log(client, batch, kind="light_trace", **fields):
    headers = {name: fields.pop(name) for name in list(fields) if name.startswith("HTTP_")}
    sent = {"kind": kind, "key": str(uuid4()), **fields}
    return client.post(address("events", batch), sent, **headers)


def test_every_bench_page_leads_to_the_words_in_one_tap(client_of, shop, batch):
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    pages = [client.get(address(name, batch)) for name in ("weigh", "add_to_pot", "batch")]
    pages.append(client.get(address("confirm", batch), {"as_planned": "on"}))
    for name in ("Coconut oil", "Palm oil", "Castor oil", "Water", "Lye"):
        weigh(client, batch, name)
    pages.append(client.get(address("lye", batch)))

    assert [page.status_code for page in pages] == [200] * 5
    assert all(f'href="{address("events", batch)}"' in page.content.decode() for page in pages)


def test_each_word_is_one_tap_with_a_key_of_its_own(client_of, shop, batch):
    page = client_of(shop.maker).get(address("events", batch)).content.decode()

    for word in ("Emulsion", "Light trace", "False trace", "Ricing", "Seizing", "Gel phase"):
        assert f">{word}</button>" in page
    assert "data-wake-lock" in page
    keys = re.findall(r'name="key" value="([^"]+)"', page)
    assert len(keys) == len(set(keys)) == 12  # ten words, the thermometer, the note


def test_a_tap_logs_the_word_now_and_shows_it(client_of, shop, batch):
    client = client_of(shop.maker)

    answer = log(client, batch, "thick_trace")

    assert answer.url == address("events", batch)
    assert Event.objects.get().kind == Event.Kind.THICK_TRACE
    assert "Thick trace" in words(client.get(answer.url)).split("Logged so far")[1]


def test_a_tap_by_htmx_stays_on_the_page_and_brings_fresh_keys(client_of, shop, batch):
    key = str(uuid4())

    answer = log(client_of(shop.maker), batch, key=key, HTTP_HX_TARGET="words", **HTMX)

    page = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in page
    assert f'name="key" value="{key}"' not in page
    for part in ("words", "bench-time", "last-logged", "logged"):
        assert f'id="{part}"' in page
    assert 'id="note"' not in page  # what someone types there is not touched


@pytest.mark.parametrize("part", ["words", "degrees", "note"])
def test_htmx_gets_the_part_that_it_sent(client_of, shop, batch, part):
    page = log(client_of(shop.maker), batch, HTTP_HX_TARGET=part, **HTMX).content.decode()

    assert [name for name in ("words", "degrees", "note") if f'id="{name}"' in page] == [part]


def test_the_same_tap_twice_counts_once(client_of, shop, batch):
    client, key = client_of(shop.maker), str(uuid4())

    answers = [log(client, batch, key=key) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Event.objects.count() == 1


@pytest.mark.parametrize(
    ("units", "typed", "celsius", "shown"),
    [
        ("metric", "43", "43", "43 °C"),
        ("metric", "109,4 F", "43", "43 °C"),
        ("us", "109.4", "43", "109 °F"),
        ("us", "43 °C", "43", "109 °F"),
    ],
)
def test_a_temperature_is_taken_in_either_unit(client_of, shop, batch, units, typed, celsius, shown):
    WorkshopFactory(units=units)
    client = client_of(shop.maker)

    log(client, batch, "lye_temperature", celsius=typed)

    assert Event.objects.get().celsius == Decimal(celsius)
    assert f"lye {shown}" in words(client.get(address("weigh", batch)))


@pytest.mark.parametrize(
    "typed", ["", "hot", "NaN", "1e9", "4000", "43 g", "40 50", "-300", "9" * 10_000, "\0"]
)
def test_what_no_thermometer_shows_is_refused_beside_its_field(client_of, shop, batch, typed):
    answer = log(client_of(shop.maker), batch, "lye_temperature", celsius=typed)

    form = answer.context["form"]
    assert answer.status_code == 422
    assert form.errors["celsius"]
    assert form["celsius"].value() == typed
    assert not Event.objects.exists()


def test_a_temperature_that_is_refused_by_htmx_comes_back_with_its_error(client_of, shop, batch):
    answer = log(
        client_of(shop.maker), batch, "room_temperature", celsius="99", HTTP_HX_TARGET="degrees", **HTMX
    )

    assert answer.status_code == 422
    assert "This cannot be right" in words(answer)
    assert 'value="99"' in answer.content.decode()


def test_a_note_with_a_photo_is_kept_and_stands_in_the_record(client_of, shop, batch):
    client = client_of(shop.maker)

    log(client, batch, "note", words="Thickens <b>fast</b>", photo=upload(jpeg()))

    event = Event.objects.get()
    page = client.get(address("batch", batch)).content.decode()
    assert "Thickens &lt;b&gt;fast&lt;/b&gt;" in page
    assert f"/{event.photo.pk}/thumb" in page


@pytest.mark.parametrize("field", ["words", "photo"])
def test_an_empty_note_and_no_picture_are_refused_beside_their_field(client_of, shop, batch, field):
    sent = {"photo": upload(b"no picture")} if field == "photo" else {}

    answer = log(client_of(shop.maker), batch, "note", **sent)

    assert answer.status_code == 422
    assert answer.context["form"].errors[field]
    assert not Event.objects.exists()


@pytest.mark.parametrize("hostile", [*REFUSED_TEXTS, *STRANGE_TEXTS, ""])
def test_a_kind_or_key_that_nobody_offers_is_refused(client_of, shop, batch, hostile):
    client = client_of(shop.maker)

    assert log(client, batch, hostile).status_code == 422
    assert log(client, batch, key=hostile).status_code == 422
    assert client.post(address("event_undo", batch), {"event": hostile}).status_code == 302
    assert not Event.objects.exists()


def test_the_last_event_is_undone_in_one_tap(client_of, shop, batch):
    client = client_of(shop.maker)
    log(client, batch)
    page = client.get(address("events", batch))

    client.post(address("event_undo", batch), {"event": page.context["log"].last.event.key})

    assert not Event.objects.exists()
    assert "Nothing logged yet" in words(client.get(address("events", batch)))


def test_after_the_pour_gel_is_logged_and_no_undo_is_offered(client_of, shop, batch):
    client = client_of(shop.maker)
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)
    assert "Log what happens" in words(client.get(address("batch", batch)))

    log(client, batch, "gel")

    event, page = Event.objects.get(), client.get(address("events", batch))
    assert "undo-event" not in page.content.decode()
    assert f"Back to {batch.code}" in words(page)
    told = client.post(address("event_undo", batch), {"event": event.key}, follow=True)
    assert "no longer open" in words(told)
    assert Event.objects.count() == 1


def test_nothing_is_logged_of_a_batch_that_was_dropped(client_of, shop, batch):
    drop_batch(batch=batch, reason="slip", by=shop.maker)
    client = client_of(shop.maker)

    assert log(client, batch).url == address("batch", batch)
    assert "Log what happens" not in words(client.get(address("batch", batch)))


def test_a_viewer_reads_the_log_and_is_offered_no_tap(client_of, shop, batch, viewer):
    log(client_of(shop.maker), batch)
    client = client_of(viewer)

    page = words(client.get(address("batch", batch)))

    assert "Light trace" in page.split("At the bench")[1]
    assert "Log what happens" not in page
    assert client.get(address("events", batch)).status_code == 403


def test_the_time_since_the_lye_and_since_the_last_word_run_on_the_bench(client_of, shop, batch):
    client = client_of(shop.maker)
    assert "No lye in yet" in words(client.get(address("weigh", batch)))
    now = timezone.now()
    mix_lye(batch=batch, by=shop.maker, at=now - timedelta(minutes=65))
    Event.objects.create(
        batch=batch, kind="ricing", by=shop.maker, key=uuid4(), at=now - timedelta(minutes=3)
    )

    page = client.get(address("weigh", batch))

    assert "1 h 05 min since lye in" in words(page)
    assert "3 min since ricing" in words(page)
    assert f'data-since="{(now - timedelta(minutes=65)).isoformat()}"' in page.content.decode()
    assert "62 min" not in words(client.get(address("batch", batch)))
    assert "1 h 02 min since lye in" in words(client.get(address("batch", batch)))


def test_the_log_asks_as_often_with_many_events_as_with_one(
    client_of, shop, batch, django_assert_max_num_queries
):
    client, counts = client_of(shop.maker), []
    for many in (1, 20):
        for _ in range(many):
            log(client, batch, "note", words="x", photo=upload(jpeg()))
        with django_assert_max_num_queries(15) as asked:
            assert client.get(address("events", batch)).status_code == 200
        counts.append(len(asked))

    assert counts[0] == counts[1]
