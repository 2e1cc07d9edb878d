"""Steps of the tests of pages: sending what a page's own form holds, and reading its words."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, Line
from inventory.models import Lot
from tests.factories import LotFactory

# What no field that takes an amount or a few words may choke on.
NO_WEIGHTS = [
    *("", "   ", "-5", "0", "NaN", "inf", "1e99", "99999999999", "3 ml", "5 cm", "🧼", "<script>1</script>"),
    "9" * 10_000,
]


def address(name: str, batch: Batch) -> str:
    return reverse(f"batches:{name}", args=[batch.pk])


def line_of(batch: Batch, material: str) -> Line:
    return batch.lines.select_related("material").get(material__name=material)


def weigh(client: Client, batch: Batch, material: str, quantity: object = None, **changed: Any) -> Any:
    """Sends the weight of a material, as planned unless another is given."""
    line = line_of(batch, material)
    sent = {
        "line": line.pk,
        "lot": line.material.lots.order_by("pk").values_list("pk", flat=True)[0],
        "quantity": str(line.planned if quantity is None else quantity),
        "key": str(uuid4()),
        **changed,
    }
    return client.post(address("weigh", batch), sent)


def weigh_all(client: Client, batch: Batch) -> None:
    for name in batch.lines.values_list("material__name", flat=True):
        weigh(client, batch, name)
    client.post(address("lye", batch))


def text_of(answer: Any) -> str:
    """The words of a page, each run of spaces as one."""
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def words(answer) -> str:
    """The words of a page, with plain spaces."""
    return text_of(answer).replace("\xa0", " ").replace("&nbsp;", " ").replace("\u202f", " ")


def old_lot(material, quantity: int = 5000) -> Lot:
    """A lot that went past its best-before yesterday."""
    long_ago, yesterday = (timezone.localdate() - timedelta(days=days) for days in (90, 1))
    return LotFactory(material=material, quantity=quantity, received_on=long_ago, best_before=yesterday)
