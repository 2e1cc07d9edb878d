"""A workshop that has poured a thousand batches opens every page with few queries."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.models import BarMovement, Batch, Cure, Line, Weighing
from inventory.services.reconcile import reconcile
from tests.architecture.pages import PAGES, make_cast
from tests.batches.busy import Busy

MOST_QUERIES = 15
LONG = [
    "batches:list",
    "batches:rack",
    "batches:shelf",
    "batches:pour",
    "inventory:ledger",
    "inventory:deliveries",
]


@pytest.mark.django_db
def test_no_page_asks_the_database_too_often_after_a_thousand_batches(client_of):
    cast = make_cast()
    Busy(cast.cut, cast.maker)
    assert Batch.objects.count() > 1000
    addresses = {name: page.address(name, cast) for name, page in PAGES.items() if page.get != 405}
    further = {f"{name}?page={n}": f"{reverse(name)}?page={n}" for name in LONG for n in (2, 3)}
    found = {f"{name}?q": f"{reverse(name)}?q=o" for name in LONG}
    client = client_of(cast.owner)

    asked = {name: queries_of(client, address) for name, address in (addresses | further | found).items()}

    assert {name: count for name, count in asked.items() if count > MOST_QUERIES} == {}


@pytest.mark.django_db
def test_those_batches_are_such_as_the_app_would_have_written():
    cast = make_cast()
    Busy(cast.cut, cast.maker, count=120)

    assert Weighing.objects.count() > 7 * 120
    assert reconcile() == []
    assert Line.objects.filter(done=True, weighings=None).count() == 0
    assert BarMovement.objects.total() == sum(Cure.objects.values_list("bars_left", flat=True))


def queries_of(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(address)
        if answer.streaming:
            b"".join(answer.streaming_content)
    return len(queries)
