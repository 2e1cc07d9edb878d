"""A phone at the bench that was without the network, and what it does once the network is back."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import UploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, CureNote, State, Weighing
from inventory.models import Lot
from inventory.services.ledger import correct
from inventory.services.reconcile import reconcile
from soapshop.core.models import User

Json = dict[str, Any]
OLIVE = "Olive oil"


@dataclass(frozen=True)
class Answer:
    """What the server said."""

    status: int
    data: Json

    @property
    def result(self) -> str:
        return str(self.data["result"])

    @property
    def choices(self) -> list[str]:
        return [choice["words"] for choice in self.data["choices"]]


@dataclass(eq=False)
class Phone:
    """In the hands of one person, for one batch. `line` and `lot` name the things of the card by material."""

    batch: Batch
    person: User
    client: Client = field(default_factory=Client)

    def __post_init__(self) -> None:
        self.client.force_login(self.person, backend="django.contrib.auth.backends.ModelBackend")

    def pack(self) -> Json:
        answer = self.client.get(reverse("batches:pack", args=[self.batch.pk]))
        assert answer.status_code == 200
        return answer.json()  # type: ignore[no-any-return]

    def line(self, material: str) -> int:
        return self.batch.lines.get(material__name=material).pk

    def deed(self, kind: str, /, *, at: datetime | None = None, key: str = "", **content: Any) -> Json:
        return {
            "key": key or str(uuid4()),
            "kind": kind,
            "at": (at or timezone.now()).isoformat(),
            "by": self.person.pk,
            "aside": False,
            "content": content,
        }

    def weigh(self, material: str, quantity: Any, lot: Any, **content: Any) -> Json:
        said = {"more_to_come": False, **content}
        return self.deed("weigh", line=self.line(material), lot=lot.pk, quantity=str(quantity), **said)

    def whole_pour(self) -> list[Json]:
        """Everything as planned, the lye in its place, and the pour."""
        deeds, mixed = [], False
        for line in self.pack()["lines"]:
            if not (mixed or line["before_the_lye"]):
                deeds.append(self.deed("lye"))
                mixed = True
            content = {"line": line["id"], "lot": line["lots"][0]["id"], "quantity": line["planned"]}
            deeds.append(self.deed("weigh", more_to_come=False, **content))
        return [*deeds, self.deed("pour", stop_reason="", words="Light trace.")]

    def send(self, deed: Json, photo: UploadedFile[bytes] | None = None) -> Answer:
        return self.send_text(json.dumps(deed), photo)

    def send_text(self, text: str, photo: UploadedFile[bytes] | None = None) -> Answer:
        body: Json = {"deed": text, **({"photo": photo} if photo else {})}
        answer = self.client.post(reverse("batches:deeds", args=[self.batch.pk]), body)
        return Answer(answer.status_code, answer.json())

    def send_all(self, deeds: list[Json]) -> list[str]:
        return [self.send(deed).result for deed in deeds]

    def choose(self, held: Json, answer: Answer, words: str) -> Answer:
        """Does what the maker has chosen by the words that it begins with, as the phone's page does."""
        assert answer.status == 409, answer
        choice = next(each for each in answer.data["choices"] if each["words"].startswith(words))
        for first in choice["first"]:
            before = self.send(self.deed(first["kind"], **first["content"]))
            assert before.result == "done", before
        held = {
            **held,
            "kind": choice["kind"] or held["kind"],
            "content": choice["content"] or held["content"],
        }
        return self.send({**held, "aside": choice["then"] != "again"})


def books(batch: Batch) -> Json:
    """All that a pour writes, but for ids and the moment of arrival."""
    batch.refresh_from_db()
    weighings = Weighing.objects.filter(line__batch=batch).order_by("line", "lot", "quantity")
    return {
        "batch": (batch.state, batch.superfat, batch.verdict, batch.cost, batch.lye_mixed_at is not None),
        "weighed": list(weighings.values_list("line__material__name", "lot__code", "quantity")),
        "stock": list(Lot.objects.order_by("pk").values_list("code", "on_hand")),
        "lines": list(batch.lines.values_list("position", "done", "extra")),
        "notes": list(CureNote.objects.values_list("words", "by")),
        "events": list(batch.events.values_list("kind", "celsius", "words")),
        "wrong": reconcile(),
    }


def pour_the_rest(phone: Phone) -> None:
    """Weighs what is still open as planned, and pours."""
    assert phone.send(all_but_the_pour(phone)).result == "done"


def all_but_the_pour(phone: Phone) -> Json:
    """Weighs what is still open; the pour is given back to be sent."""
    done = {line.pk for line in phone.batch.lines.filter(done=True)}
    *deeds, last = phone.whole_pour()
    phone.send_all([deed for deed in deeds if deed["content"].get("line") not in done])
    return last


def taken(batch: Batch, material: str = OLIVE) -> Json:
    """What the batch took out of each lot of a material."""
    weighings = Weighing.objects.filter(line__batch=batch, line__material__name=material)
    assert all(weighing.movement.quantity == -weighing.quantity for weighing in weighings)
    return {weighing.lot.code: weighing.quantity for weighing in weighings.order_by("pk")}


def stock_is_right(batch: Batch) -> bool:
    batch.refresh_from_db()
    return batch.state == State.POURED and reconcile() == []


def set_stock(lot: Lot, grams: int, by: User) -> None:
    correct(lot=lot, counted=Decimal(grams), reason="spilled", key=str(uuid4()), by=by)
