"""Two people on two phones weigh one batch at once."""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape
from itertools import pairwise
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import Event, Weighing
from batches.queries.weighing import stamp_of
from batches.services.plan import drop_batch
from batches.services.weighing import leave, mix_lye
from recipes.formulation import Size
from tests.batches.bench import recipe
from tests.batches.pages import address, line_of, weigh, weigh_all, words
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db

BEFORE_THE_LYE = ("Olive oil", "Coconut oil", "Palm oil", "Castor oil", "Water", "Lye")


@pytest.fixture
def jonas(client_of):
    return client_of(UserFactory(name="Jonas"))


def watched(page) -> str:
    """The address by which a page looks for what other phones did."""
    return unescape(re.search(r'id="bench-watch"[^>]* hx-get="([^"]+)"', page.content.decode())[1])


def ids(page) -> set[str]:
    return set(re.findall(r' id="([\w-]+)"[^>]*hx-swap-oob="true"', page.content.decode()))


def test_as_long_as_nothing_changes_there_is_nothing_to_swap(client_of, shop, batch):
    client = client_of(shop.maker)
    look = watched(client.get(address("weigh", batch)))

    answers = [client.get(look) for _ in range(2)]

    assert [(answer.status_code, answer.content) for answer in answers] == [(204, b"")] * 2


def test_what_another_weighed_comes_with_the_next_look(client_of, shop, batch, jonas):
    client = client_of(shop.maker)
    page = client.get(address("weigh", batch))
    weigh(jonas, batch, "Palm oil")

    news = client.get(watched(page))

    assert news.status_code == 200
    assert "Jonas weighed Palm oil, 250 g" in words(news)
    assert "1 of 7" in words(news)
    assert ids(news) == {
        *("bench-time", "bench-others", "bench-safety", "bench-progress"),
        *("bench-undo", "bench-how", "card-count", "card-lines"),
    }
    assert all(f'id="{part}"' in page.content.decode() for part in ids(news))
    assert "As shown" not in words(news)  # the form and what is typed in it stay
    assert client.get(watched(news)).status_code == 204


def test_the_line_shown_was_weighed_by_another_and_the_way_on_is_offered(client_of, shop, batch, jonas):
    client = client_of(shop.maker)
    page = client.get(address("weigh", batch))
    weigh(jonas, batch, "Olive oil", "447")

    news = client.get(watched(page))

    assert "Jonas weighed Olive oil, 447 g. Go on" in words(news)
    assert f'id="go-on" href="{address("weigh", batch)}"' in news.content.decode()
    weigh(jonas, batch, "Palm oil")
    assert "Jonas weighed Olive oil, 447 g. Go on" in words(client.get(watched(news)))


def test_a_line_that_another_left_out_or_weighed_in_part(client_of, shop, batch, jonas):
    client = client_of(shop.maker)
    scent, olive = line_of(batch, "Scent"), line_of(batch, "Olive oil")
    at_scent = client.get(address("weigh", batch), {"line": scent.pk})
    at_olive = client.get(address("weigh", batch), {"line": olive.pk, "show": "other"})
    leave(line=scent, by=UserFactory())
    weigh(jonas, batch, "Olive oil", "200", more_to_come="on")

    assert "Scent was left out. Go on" in words(client.get(watched(at_scent)))
    news = client.get(watched(at_olive))
    assert "What is to weigh has changed. Jonas weighed Olive oil, 200 g. Go on" in words(news)
    assert f'href="{address("weigh", batch)}?line={olive.pk}"' in news.content.decode()


def test_a_page_gets_no_part_that_it_does_not_have(client_of, shop, batch, jonas):
    client = client_of(shop.maker)
    pages = [client.get(address("weigh", batch), {"show": show}) for show in ("other", "lots", "scale")]
    pages += [client.get(address(name, batch)) for name in ("add_to_pot", "events")]
    pages.append(client.get(address("confirm", batch), {"as_planned": "on"}))
    for name in BEFORE_THE_LYE[:5]:
        weigh(jonas, batch, name)
    news = [client.get(watched(page)) for page in pages]
    weigh(jonas, batch, "Lye")
    pages.append(client.get(address("lye", batch)))
    mix_lye(batch=batch, by=shop.maker)
    news.append(client.get(watched(pages[-1])))

    for page, new in zip(pages, news, strict=True):
        assert new.status_code == 200
        assert ids(new) >= {"bench-time", "bench-others"}
        assert all(f'id="{part}"' in page.content.decode() for part in ids(new))


def test_the_last_look_says_when_a_weight_was_taken_back(client_of, shop, batch):
    client = client_of(shop.maker)
    weigh_all(client, batch)
    weigh(client, batch, "Scent")
    page = client.get(address("confirm", batch))
    assert client.get(watched(page)).status_code == 204
    client.post(address("weigh_undo", batch), {"weighing": Weighing.objects.order_by("-pk")[0].pk})

    assert "What was weighed has changed. Go on" in words(client.get(watched(page)))


def test_the_lye_page_says_when_the_lye_is_mixed_or_a_weight_taken_back(client_of, shop, batch):
    client = client_of(shop.maker)
    for name in BEFORE_THE_LYE:
        weigh(client, batch, name)
    page = client.get(address("lye", batch))
    last = Weighing.objects.order_by("-pk")[0]
    client.post(address("weigh_undo", batch), {"weighing": last.pk})
    assert "What was weighed has changed. Go on" in words(client.get(watched(page)))
    weigh(client, batch, "Lye")
    client.post(address("lye", batch))

    assert "The lye is mixed. Go on" in words(client.get(watched(page)))


@pytest.mark.parametrize("name", ["weigh", "events", "add_to_pot"])
def test_every_page_says_when_the_batch_is_no_longer_open(client_of, shop, batch, name):
    client = client_of(shop.maker)
    page = client.get(address(name, batch))
    drop_batch(batch=batch, reason="slip", by=shop.maker)

    news = client.get(watched(page))

    assert f"{batch.code} is dropped by now. Go on" in words(news)
    assert "hx-get" not in news.content.decode()  # and it looks no more


def test_events_of_another_appear_too(client_of, shop, batch, jonas):
    client = client_of(shop.maker)
    page = client.get(address("events", batch))
    jonas.post(address("events", batch), {"kind": "ricing", "key": str(uuid4())})

    news = client.get(watched(page))

    assert "0 min since ricing" in words(news)
    assert {"last-logged", "logged"} <= ids(news)
    assert 'id="note"' not in news.content.decode()


def test_undo_takes_back_ones_own_weight_and_the_card_says_whose_the_others_are(
    client_of, shop, batch, jonas
):
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    weigh(jonas, batch, "Palm oil")

    page = words(client.get(address("weigh", batch)))

    assert "Undo Olive oil, 450 g" in page
    assert "Palm oil 250 g Jonas" in page
    assert "Undo Palm oil, 250 g" in words(jonas.get(address("weigh", batch)))


def test_old_news_is_no_news(client_of, shop, batch, jonas):
    weigh(jonas, batch, "Palm oil")
    Weighing.objects.update(at=timezone.now() - timedelta(minutes=11))

    assert "Jonas weighed" not in words(client_of(shop.maker).get(address("weigh", batch)))


def test_two_begin_at_different_lines(client_of, shop, batch):
    client = client_of(shop.maker)
    page = client.get(address("weigh", batch))
    assert "another first" in words(page)

    card = client.get(address("weigh", batch), {"show": "card"}).content.decode()

    assert re.search(r'<details [^>]*id="card" open>', card)
    assert f"?line={line_of(batch, 'Castor oil').pk}" in card


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"on": "nowhere", "seen": "x" * 10_000, "line": "-1", "lot": "\0", "reads": "NaN"},
        {"on": "weigh", "line": "99999999", "reads": "<script>"},
        {"on": "confirm", "as_of": "🧼"},
    ],
)
def test_a_strange_question_is_answered_all_the_same(client_of, shop, batch, asked):
    answer = client_of(shop.maker).get(address("bench_state", batch), asked)

    assert answer.status_code == 200
    assert "<script>" not in answer.content.decode()


def test_only_makers_look_and_only_at_what_there_is(client_of, shop, batch, viewer):
    assert client_of(viewer).get(address("bench_state", batch)).status_code == 403
    nothing = reverse("batches:bench_state", args=[99])
    assert client_of(shop.maker).get(nothing).status_code == 404


def test_whatever_is_done_changes_the_stamp(client_of, shop, batch, jonas):
    def undo_palm() -> None:
        palm = Weighing.objects.get(line__material__name="Palm oil")
        jonas.post(address("weigh_undo", batch), {"weighing": palm.pk})

    def log(kind: str) -> None:
        jonas.post(address("events", batch), {"kind": kind, "key": str(uuid4())})

    deeds = [
        lambda: weigh(jonas, batch, "Palm oil"),
        undo_palm,
        lambda: weigh(jonas, batch, "Palm oil"),
        lambda: weigh(jonas, batch, "Olive oil", "200", more_to_come="on"),
        lambda: weigh(jonas, batch, "Olive oil", "250"),
        lambda: jonas.post(address("leave", batch), {"line": line_of(batch, "Scent").pk}),
        lambda: log("gel"),
        lambda: jonas.post(address("event_undo", batch), {"event": Event.objects.get().key}),
        lambda: mix_lye(batch=batch, by=shop.maker),
        lambda: drop_batch(batch=batch, reason="slip", by=shop.maker),
    ]
    stamps = [stamp_of(batch.pk)]
    for deed in deeds:
        deed()
        stamps.append(stamp_of(batch.pk))

    assert all(one != next_ for one, next_ in pairwise(stamps))
    assert stamp_of(batch.pk + 99) is None


@pytest.mark.parametrize("fats", [2, 20])
def test_a_look_that_finds_nothing_new_asks_once_besides_what_every_page_asks(
    client_of, shop, django_assert_num_queries, fats
):
    version = recipe(shop.materials, by=shop.maker, name=f"{fats} fats")
    batch = shop.plan(version=version, size=Size(fats=Decimal(1000)))
    client = client_of(shop.maker)
    for name in BEFORE_THE_LYE[: 1 if fats == 2 else 6]:
        weigh(client, batch, name)
    look = watched(client.get(address("weigh", batch), {"line": line_of(batch, "Scent").pk}))

    with django_assert_num_queries(4):  # the session, the person, the workshop; and the batch
        assert client.get(look).status_code == 204


def test_a_look_with_news_asks_as_often_with_many_weights_as_with_one(
    client_of, shop, batch, django_assert_max_num_queries, jonas
):
    client, counts = client_of(shop.maker), []
    look = watched(client.get(address("weigh", batch), {"line": line_of(batch, "Scent").pk}))
    for names in (BEFORE_THE_LYE[:1], BEFORE_THE_LYE[1:]):
        for name in names:
            weigh(jonas, batch, name)
        with django_assert_max_num_queries(12) as asked:
            assert client.get(look).status_code == 200
        counts.append(len(asked))

    assert counts[0] == counts[1]
