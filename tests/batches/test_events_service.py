from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.storage import default_storage
from django.utils import timezone

from batches.models import Batch, Event
from batches.queries.events import log_of
from batches.services.errors import NotOpen
from batches.services.events import log_event, undo_event
from batches.services.plan import drop_batch
from batches.services.pour import pour, undo_pour
from batches.services.weighing import mix_lye
from soapshop.core.models import Photo
from soapshop.core.queries import history_of
from tests.batches.bench import Bench
from tests.core.pictures import jpeg, upload
from tests.factories import ViewerFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def batch(shop) -> Batch:
    return shop.plan()


def log(shop: Bench, batch: Batch, kind: str = Event.Kind.LIGHT_TRACE, **fields) -> Event:
    return log_event(**{"batch": batch, "kind": kind, "key": uuid4(), "by": shop.maker, **fields})


# --- logging --------------------------------------------------------------------------------------


def test_a_word_is_logged_with_the_time_and_who_said_it(shop, batch):
    before = timezone.now()

    event = log(shop, batch)

    assert (event.kind, event.by) == (Event.Kind.LIGHT_TRACE, shop.maker)
    assert before <= event.at <= timezone.now()


def test_the_same_key_twice_counts_once(shop, batch):
    key = uuid4()

    assert log(shop, batch, key=key) == log(shop, batch, key=key)
    assert Event.objects.count() == 1


def test_a_phone_may_say_when_it_happened(shop, batch):
    earlier = timezone.now() - timedelta(minutes=7)

    assert log(shop, batch, at=earlier).at == earlier


def test_a_phone_whose_clock_is_ahead_means_now(shop, batch):
    assert log(shop, batch, at=timezone.now() + timedelta(hours=2)).at <= timezone.now()


def test_a_time_long_before_the_workshop_is_refused(shop, batch):
    with pytest.raises(ValidationError) as refused:
        log(shop, batch, at=timezone.now() - timedelta(days=800))

    assert "at" in refused.value.message_dict


@pytest.mark.parametrize(
    ("kind", "celsius", "kept"),
    [
        (Event.Kind.LYE_TEMPERATURE, "43.25", "43.3"),
        (Event.Kind.FATS_TEMPERATURE, "150", "150"),
        (Event.Kind.ROOM_TEMPERATURE, "-30", "-30"),
    ],
)
def test_a_temperature_is_kept_to_a_tenth_of_a_degree(shop, batch, kind, celsius, kept):
    assert log(shop, batch, kind, celsius=Decimal(celsius)).celsius == Decimal(kept)


@pytest.mark.parametrize(
    ("kind", "celsius"),
    [
        (Event.Kind.LYE_TEMPERATURE, Decimal("150.1")),
        (Event.Kind.FATS_TEMPERATURE, Decimal(-21)),
        (Event.Kind.ROOM_TEMPERATURE, Decimal(61)),
        (Event.Kind.ROOM_TEMPERATURE, Decimal("NaN")),
        (Event.Kind.ROOM_TEMPERATURE, Decimal("Infinity")),
        (Event.Kind.ROOM_TEMPERATURE, None),
        (Event.Kind.GEL, Decimal(60)),
    ],
)
def test_a_temperature_that_cannot_be_is_refused(shop, batch, kind, celsius):
    with pytest.raises(ValidationError) as refused:
        log(shop, batch, kind, celsius=celsius)

    assert "celsius" in refused.value.message_dict


@pytest.mark.parametrize("words", ["", "x" * 2001])
def test_a_note_says_something_that_fits(shop, batch, words):
    with pytest.raises(ValidationError) as refused:
        log(shop, batch, Event.Kind.NOTE, words=words)

    assert "words" in refused.value.message_dict


def test_a_note_may_be_a_photo_alone(shop, batch):
    event = log(shop, batch, Event.Kind.NOTE, photo=upload(jpeg()))

    assert event.photo == Photo.objects.get()


def test_what_is_no_picture_is_refused_beside_its_field_and_nothing_is_logged(shop, batch):
    with pytest.raises(ValidationError) as refused:
        log(shop, batch, Event.Kind.NOTE, words="Look", photo=upload(b"no picture"))

    assert "photo" in refused.value.message_dict
    assert not Event.objects.exists()


def test_a_word_that_the_trade_does_not_know_is_refused(shop, batch):
    with pytest.raises(ValidationError) as refused:
        log(shop, batch, "boredom")

    assert "kind" in refused.value.message_dict


def test_gel_is_logged_after_the_pour(shop, batch):
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    assert log(shop, batch, Event.Kind.GEL).pk


@pytest.mark.parametrize("end", ["dropped", "undone"])
def test_nothing_happens_to_a_batch_that_is_dropped_or_undone(shop, batch, end):
    if end == "dropped":
        drop_batch(batch=batch, reason="slip", by=shop.maker)
    else:
        pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)
        undo_pour(batch=batch, reason="slip", by=shop.maker)

    with pytest.raises(NotOpen):
        log(shop, batch)


def test_viewers_log_and_undo_nothing(shop, batch):
    event = log(shop, batch)

    with pytest.raises(PermissionDenied):
        log(shop, batch, by=ViewerFactory())
    with pytest.raises(PermissionDenied):
        undo_event(batch=batch, key=event.key, by=ViewerFactory())


# --- taking back ----------------------------------------------------------------------------------


def test_an_event_is_taken_back_once_and_the_history_says_so(shop, batch):
    event = log(shop, batch)

    assert undo_event(batch=batch, key=event.key, by=shop.maker) is not None
    assert undo_event(batch=batch, key=event.key, by=shop.maker) is None
    assert not Event.objects.exists()
    assert history_of(batch)[0].what == "Took back: Light trace"


def test_its_photo_goes_with_it(shop, batch, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        event = log(shop, batch, Event.Kind.NOTE, photo=upload(jpeg()))
    files = [event.photo.full.name, event.photo.thumb.name]
    assert all(map(default_storage.exists, files))

    with django_capture_on_commit_callbacks(execute=True):
        undo_event(batch=batch, key=event.key, by=shop.maker)

    assert not Photo.objects.exists()
    assert not any(map(default_storage.exists, files))


def test_an_event_of_another_batch_stays(shop, batch):
    event = log(shop, shop.plan())

    assert undo_event(batch=batch, key=event.key, by=shop.maker) is None
    assert Event.objects.count() == 1


def test_nothing_is_taken_back_once_it_is_poured(shop, batch):
    event = log(shop, batch)
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    with pytest.raises(NotOpen):
        undo_event(batch=batch, key=event.key, by=shop.maker)


# --- reading --------------------------------------------------------------------------------------


def test_the_log_tells_how_long_after_the_lye_each_was(shop, batch, django_assert_num_queries):
    now = timezone.now()
    log(shop, batch, Event.Kind.ROOM_TEMPERATURE, celsius=Decimal(19), at=now - timedelta(minutes=30))
    batch = mix_lye(batch=batch, by=shop.maker, at=now - timedelta(minutes=20))
    log(shop, batch, Event.Kind.LIGHT_TRACE, at=now - timedelta(minutes=8))
    log(shop, batch, Event.Kind.EMULSION, at=now - timedelta(minutes=12))
    log(shop, batch, Event.Kind.NOTE, words="smooth", at=now - timedelta(minutes=2))

    with django_assert_num_queries(1):
        log_ = log_of(batch)

    assert [entry.event.kind for entry in log_.entries] == [
        "room_temperature",
        "emulsion",
        "light_trace",
        "note",
    ]
    assert [entry.after_lye for entry in log_.entries] == [
        None,
        timedelta(minutes=8),
        timedelta(minutes=12),
        timedelta(minutes=18),
    ]
    assert log_.word.kind == Event.Kind.LIGHT_TRACE
    assert [event.celsius for event in log_.temperatures] == [19]
    assert log_.last.event.words == "smooth"


def test_a_log_with_nothing_in_it(batch):
    log_ = log_of(batch)

    assert (log_.last, log_.word, log_.temperatures) == (None, None, ())
