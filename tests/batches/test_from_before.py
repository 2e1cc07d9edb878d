"""Batches from before there were portions: they show, and are poured, cut, measured and printed."""

from __future__ import annotations

from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import Batch, State, Weighing
from batches.queries.picture import picture_of
from batches.services.bars import make_embeds
from batches.services.colour import measure
from batches.services.cure import add_note
from batches.services.pour import pour, undo_pour
from recipes.models import NATURAL, Version
from tests.architecture.pages import PAGES, make_cast
from tests.batches.bench import Bench
from tests.batches.curing import cut_days_ago, poured
from tests.batches.pages import address, text_of, weigh_all
from tests.batches.phone import Phone
from tests.batches.photos import BAR, CARD, SOAP, beside_card
from tests.core.pictures import upload
from tests.factories import CertificateFactory, MaterialFactory

pytestmark = pytest.mark.django_db

PORTIONS = {"split", "certified", "cured_share", "mould_name"}
STAGES = {"process", "fine_scale_step", "fine_scale_up_to"}
OF_A_SPLIT = {"batches:split", "batches:take_out"}
OF_A_LINE = {"made_of"}, {"made_of", "acid_percent", "dissolved", "stage"}


@pytest.fixture(params=["from before portions", "from before stages"])
def age(request: pytest.FixtureRequest) -> Any:
    """Makes all that stands in the database look as it was written then."""
    oldest = request.param == "from before stages"
    missing = PORTIONS | STAGES if oldest else PORTIONS

    def without(known: dict[str, Any], names: set[str]) -> dict[str, Any]:
        return {name: value for name, value in known.items() if name not in names}

    def make_old() -> None:
        for batch in Batch.objects.all():
            lines = [without(line, OF_A_LINE[oldest]) for line in batch.frozen["lines"]]
            batch.frozen = {**without(batch.frozen, missing), "lines": lines}
            batch.picture = {}
            batch.save()
        Version.objects.update(picture={}, mould=None)

    return make_old


@pytest.fixture
def old(batch: Batch, age: Any) -> Batch:
    """Planned then."""
    age()
    return Batch.objects.get(pk=batch.pk)


@pytest.fixture
def phone(shop: Bench, client_of: Any) -> Client:
    return client_of(shop.maker)


def seen(batch: Batch) -> Any:
    return picture_of(Batch.objects.get(pk=batch.pk)).look


def test_every_page_opens_with_batches_cures_and_versions_of_then(age: Any, client_of: Any):
    cast = make_cast()
    age()
    wrong = []
    for name, page in PAGES.items():
        if page.least and (name.startswith(("batches:", "recipes:"))):
            answer = client_of(cast.least_of(page.least)).get(page.address(name, cast))
            if answer.status_code != (302 if name in OF_A_SPLIT else page.get):
                wrong.append((name, answer.status_code))
    assert wrong == []


def test_the_paper_of_a_batch_of_then_is_printed(old: Batch, phone: Client):
    assert phone.get(address("card", old)).content.startswith(b"%PDF")


def test_the_tags_of_a_batch_of_then_are_printed(shop: Bench, age: Any, phone: Client):
    cure = cut_days_ago(shop, 3)
    age()

    tags = phone.get(reverse("batches:tags_pdf"), {"batch": cure.batch_id})

    assert tags.content.startswith(b"%PDF")


def test_a_batch_planned_then_has_no_jugs_to_fill(old: Batch, phone: Client):
    assert phone.get(address("split", old)).status_code == 302
    assert phone.get(address("pack", old)).json()["split"] is None


def test_a_batch_planned_then_is_weighed_and_poured(old: Batch, phone: Client):
    weigh_all(phone, old)

    answer = phone.post(address("confirm", old), {"key": uuid4()})

    assert answer.status_code == 302
    old.refresh_from_db()
    assert old.state == State.POURED
    assert (FrozenRecipe.from_json(old.frozen).split, old.frozen["cured_share"]) == (None, None)
    assert [layer.name for layer in seen(old).layers] == ["Four oils"]
    assert phone.get(address("batch", old)).status_code == 200


def test_a_batch_planned_then_is_poured_as_planned_with_what_is_certified_now(shop: Bench, old: Batch):
    CertificateFactory(material=shop.materials["Scent"], limit=Decimal(5))

    done = pour(batch=old, key=uuid4(), by=shop.maker, as_planned=True, filled_height=Decimal(55))

    assert list(done.frozen["certified"]) == [str(shop.materials["Scent"].pk)]
    assert done.cure.filled_height == 55


def test_a_batch_poured_then_is_cut_and_weighed(shop: Bench, age: Any, phone: Client):
    batch = poured(shop, 2).batch
    age()
    today = timezone.localdate().isoformat()

    cut = phone.post(
        address("cut", batch),
        {"on": today, "bars": 10, "trimmings": "20", "bars_weight": "1300", "place": "", "key": uuid4()},
    )
    weighed = phone.post(address("weigh_in", batch), {"on": today, "grams": "130", "bars": 1, "key": uuid4()})

    assert (cut.status_code, weighed.status_code) == (302, 302)
    batch.refresh_from_db()
    assert (batch.state, batch.cure.bars_left) == (State.CUT, 10)
    assert "130 g" in text_of(phone.get(address("batch", batch))).replace("\xa0", " ")


def test_a_batch_poured_then_can_be_undone(shop: Bench, age: Any):
    batch = poured(shop, 2).batch
    age()

    assert undo_pour(batch=batch, reason="Wrong oil", by=shop.maker).state == State.UNDONE


def test_a_bar_of_then_shows_the_colour_it_was_to_have_until_another_is_measured(shop: Bench, age: Any):
    cure = cut_days_ago(shop, 30)
    age()
    assert [layer.colour for layer in seen(cure.batch).layers] == [NATURAL]
    photo = upload(beside_card())
    note = add_note(cure=cure, words="", photo=photo, key=uuid4(), by=shop.maker)

    measure(note=note, card=CARD, card_kind="white", places={None: BAR}, by=shop.maker)

    reading = note.readings.get()
    assert reading.lightness == pytest.approx(Decimal(SOAP.lightness), abs=2)
    assert [layer.colour for layer in seen(cure.batch).layers] != [NATURAL]
    assert [layer.share for layer in seen(cure.batch).layers] == [1.0]


def test_bars_of_then_are_made_into_embeds_that_hold_their_share_of_every_lot(shop: Bench, age: Any):
    cure = cut_days_ago(shop, 40, bars=10)
    age()
    embed = MaterialFactory(embed=True)

    lot = make_embeds(cure=cure, count=2, pieces=Decimal(20), material=embed, key=uuid4(), by=shop.maker)

    used = Weighing.objects.filter(line__batch=cure.batch)
    assert {part.of_id: part.quantity for part in lot.parts.all()} == {
        weighing.lot_id: pytest.approx(weighing.quantity / 5, abs=Decimal("0.01")) for weighing in used
    }


def test_what_a_phone_did_with_a_batch_of_then_without_network_arrives(shop: Bench, old: Batch):
    pocket = Phone(old, shop.maker)

    assert set(pocket.send_all(pocket.whole_pour())) == {"done"}

    old.refresh_from_db()
    assert old.state == State.POURED
