"""The story of a fragrance: what was seen at the bench and in the cure, batch by batch."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, Event, Weighing
from batches.queries.fragrance import behaviour_of, poured_with
from batches.services.cure import add_note
from batches.services.events import log_event
from batches.services.pour import pour, undo_pour
from inventory.models import Behaviour
from recipes.models import Version
from tests.batches.bench import Bench
from tests.batches.pages import words
from tests.factories import ColourReadingFactory, JugFactory, ViewerFactory

pytestmark = pytest.mark.django_db


def poured(shop: Bench, *, days: int = 30) -> Batch:
    at = timezone.now() - timedelta(days=days)
    batch = pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True, at=at)
    Weighing.objects.filter(line__batch=batch).update(at=at)
    return batch


def seen(shop: Bench, batch: Batch, kind: Event.Kind, minutes: int, **more: object) -> None:
    """Something logged so many minutes after the fragrance went in."""
    at = batch.poured_at + timedelta(minutes=minutes)
    log_event(batch=batch, kind=kind, key=uuid4(), by=shop.maker, at=at, **more)


def story(shop: Bench):
    return poured_with(shop.materials["Scent"])


def read(shop: Bench, batch: Batch, days: int, lightness: int, jug=None) -> None:
    at = batch.poured_at + timedelta(days=days)
    note = add_note(cure=batch.cure, words="Look", photo=None, key=uuid4(), by=shop.maker, at=at)
    ColourReadingFactory(note=note, jug=jug, lightness=Decimal(lightness))


def page_of(client, shop: Bench) -> str:
    return words(client.get(reverse("batches:fragrance", args=[shop.materials["Scent"].pk])))


def test_how_much_of_the_fats_it_was(shop):
    poured(shop)
    assert [one.of_fats for one in story(shop)] == [Decimal(2)]


def test_where_no_fats_were_weighed_no_share_is_told(shop, client_of):
    batch = poured(shop)
    batch.lines.filter(material__kind="fat").delete()
    assert story(shop)[0].of_fats is None
    page = page_of(client_of(shop.maker), shop)
    assert "of the fats" not in page


def test_what_was_logged_with_the_minutes_since_it_went_in(shop):
    batch = poured(shop)
    seen(shop, batch, Event.Kind.ACCELERATION, 4)
    seen(shop, batch, Event.Kind.LIGHT_TRACE, -2)
    seen(shop, batch, Event.Kind.NOTE, 5, words="smells fine")
    seen(shop, batch, Event.Kind.ROOM_TEMPERATURE, 6, celsius=Decimal(21))
    [one] = story(shop)
    assert [(each.event.kind, each.minutes) for each in one.seen] == [(Event.Kind.ACCELERATION, 4)]
    assert [event.celsius for event in one.temperatures] == [21]


def test_the_portion_that_turned_most_tells_how_dark_it_got(shop):
    batch = poured(shop)
    dark, pale = (JugFactory(batch=batch, name=name) for name in ("Dark", "Pale"))
    for days, lightness in ((1, 80), (8, 70), (15, 61)):
        read(shop, batch, days, lightness, dark)
        read(shop, batch, days, 80, pale)
    assert story(shop)[0].darker == ((1, 10.0), (2, 19.0))


def test_the_scent_by_day_of_the_cure(shop):
    batch = poured(shop)
    for days, scent in ((7, "strong"), (14, "faint")):
        at = batch.poured_at + timedelta(days=days)
        add_note(cure=batch.cure, words="", photo=None, scent=scent, key=uuid4(), by=shop.maker, at=at)
    assert [day for day, _ in story(shop)[0].scents] == [7, 14]


def test_the_newest_stand_first_and_no_pour_that_was_undone(shop):
    old, new = poured(shop, days=30), poured(shop, days=3)
    undone = poured(shop, days=1)
    undo_pour(batch=undone, reason="Wrong batch", by=shop.maker)
    shop.plan()
    assert [one.batch for one in story(shop)] == [new, old]


def test_its_behaviour_is_counted_with_every_word_from_the_bench(shop):
    first, second = poured(shop), poured(shop)
    for batch, kind, minutes in (
        (first, Event.Kind.ACCELERATION, 9),
        (first, Event.Kind.SEIZING, 3),
        (second, Event.Kind.ACCELERATION, 5),
        (second, Event.Kind.RICING, 6),
        (second, Event.Kind.OVERHEATING, 50),
        (second, Event.Kind.RICING, -4),
    ):
        seen(shop, batch, kind, minutes)
    kept = Behaviour.objects.get(material=shop.materials["Scent"])
    told = behaviour_of(shop.materials["Scent"])
    assert told == {
        "batches": 2,
        "thickened": 2,
        "within_minutes": 5,
        "riced": 1,
        "seized": 1,
        "overheated": 1,
    }
    assert told == {name: getattr(kept, name) for name in told}


def test_what_happened_before_it_went_in_is_not_its_doing(shop):
    seen(shop, poured(shop), Event.Kind.SEIZING, -5)
    assert behaviour_of(shop.materials["Scent"])["seized"] == 0


def test_a_pour_that_is_undone_no_longer_counts(shop):
    batch = poured(shop)
    seen(shop, batch, Event.Kind.SEIZING, 3)
    undo_pour(batch=batch, reason="Wrong batch", by=shop.maker)
    kept = Behaviour.objects.get(material=shop.materials["Scent"])
    assert (kept.batches, kept.seized) == (0, 0)


def test_the_page_tells_it_to_anyone_signed_in(shop, client_of):
    batch = poured(shop)
    seen(shop, batch, Event.Kind.SEIZING, 1)
    page = words(
        client_of(ViewerFactory()).get(reverse("batches:fragrance", args=[shop.materials["Scent"].pk]))
    )
    assert "Seized in 1 of 1 batch." in page
    assert f"Four oils, {batch.code}" in page
    assert "with 2.0 % of the fats." in page
    assert "1 minute after it went in" in page


def test_before_the_first_batch_it_says_what_will_gather_here(shop, client_of):
    page = page_of(client_of(shop.maker), shop)
    assert "No batch with it yet" in page


@pytest.mark.parametrize("material", ["Olive oil", None])
def test_only_a_fragrance_has_a_story(shop, client_of, material):
    pk = shop.materials[material].pk if material else 987_654_321
    assert client_of(shop.maker).get(reverse("batches:fragrance", args=[pk])).status_code == 404


def test_more_batches_are_no_more_queries(shop, client_of):
    def queries() -> int:
        client.get(url)
        with CaptureQueriesContext(connection) as caught:
            client.get(url)
        return len(caught)

    client, url = client_of(shop.maker), reverse("batches:fragrance", args=[shop.materials["Scent"].pk])
    read(shop, poured(shop), 2, 80)
    few = queries()
    for _ in range(2):
        batch = poured(shop)
        read(shop, batch, 2, 80)
        read(shop, batch, 9, 70)
        seen(shop, batch, Event.Kind.RICING, 2)
    assert queries() == few


def test_a_recipe_with_it_is_warned_of(shop, client_of):
    seen(shop, poured(shop), Event.Kind.SEIZING, 3)
    version = Version.objects.get(pk=shop.version.pk)
    page = words(client_of(shop.maker).get(reverse("batches:plan", args=[version.pk])))
    assert "Scent seized in 1 of 1 batch." in page
