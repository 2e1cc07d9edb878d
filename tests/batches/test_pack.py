"""What a phone is given of a batch, to carry it through without the network."""

from __future__ import annotations

import json
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from batches.models import Event
from batches.queries.pack import pack
from batches.services.events import log_event
from batches.services.weighing import add_to_pot, leave, mix_lye, weigh
from shared.chemistry import M_KOH, AcidKind
from soapshop.core.queries import workshop
from tests.batches.bench import bench
from tests.batches.phone import Phone
from tests.core.pictures import jpeg, upload
from tests.factories import LotFactory, OwnerFactory, ViewerFactory, WorkshopFactory

pytestmark = pytest.mark.django_db


def line_of(packed, material):
    return next(line for line in packed["lines"] if line["material"] == material)


def weighed(batch, shop, material, quantity, **more):
    line = batch.lines.get(material__name=material)
    lot = shop.lots[material]
    return weigh(line=line, lot=lot, quantity=Decimal(quantity), key=uuid4(), by=shop.maker, **more)


def test_it_holds_the_card_in_order_with_what_reacts():
    shop = bench()
    batch = shop.plan()

    packed = Phone(batch, shop.maker).pack()

    assert [(line["material"], line["planned"], line["done"]) for line in packed["lines"]][:2] == [
        ("Olive oil", "450.00", False),
        ("Coconut oil", "250.00", False),
    ]
    olive, lye, scent = (line_of(packed, name) for name in ("Olive oil", "Lye", "Scent"))
    assert olive["sap"] == {"low": 184, "nominal": 190, "high": 196}
    assert (lye["alkali"], lye["purity"], lye["sap"]) == ("NaOH", [97, 100], None)
    assert (scent["before_the_lye"], scent["may_be_left_out"]) == (False, True)
    assert (olive["before_the_lye"], olive["may_be_left_out"]) == (True, False)
    assert packed["batch"]["code"] == batch.code
    assert packed["batch"]["state"] == "planned"
    assert packed["batch"]["picture"].startswith("<svg")
    assert packed["batch"]["urls"]["deeds"] == reverse("batches:deeds", args=[batch.pk])
    assert (packed["superfat"], packed["scale_step"], packed["units"]) == (5.0, "1.00", "metric")
    assert packed["limits"] == {"watch_from": 0.001, "stop_from": 0.15}
    assert packed["lye"]["concentration"] == pytest.approx(33)
    assert packed["person"] == {"id": shop.maker.pk, "name": str(shop.maker), "owner": False}


def test_a_lot_says_what_is_free_and_what_its_certificate_says():
    shop = bench()
    today = timezone.localdate()
    certified = LotFactory(
        material=shop.materials["Olive oil"],
        quantity=800,
        best_before=today + timedelta(days=9),
        sap=Decimal("188.4"),
        sap_uncertainty=Decimal("0.6"),
        place="Shelf 2",
    )
    pure = LotFactory(
        material=shop.materials["Lye"], purity=Decimal("99.2"), purity_uncertainty=Decimal("0.3")
    )
    old = LotFactory(
        material=shop.materials["Olive oil"],
        received_on=today - timedelta(days=9),
        best_before=today - timedelta(days=1),
    )
    batch = shop.plan()
    line = batch.lines.get(material__name="Olive oil")
    weigh(line=line, lot=certified, quantity=Decimal(300), key=uuid4(), by=shop.maker, more_to_come=True)

    packed = Phone(batch, shop.maker).pack()

    lots = {lot["id"]: lot for lot in line_of(packed, "Olive oil")["lots"]}
    assert [lots[old.pk]["expired"], lots[certified.pk]["expired"]] == [True, False]
    assert lots[certified.pk] == {
        "id": certified.pk,
        "code": certified.code,
        "place": "Shelf 2",
        "best_before": (today + timedelta(days=9)).isoformat(),
        "expired": False,
        "free": "500.00",
        "sap": {"low": pytest.approx(187.8), "nominal": 188.4, "high": pytest.approx(189.0)},
        "purity": None,
        "certified": True,
    }
    plain = lots[shop.lots["Olive oil"].pk]
    assert (plain["certified"], plain["sap"], plain["best_before"]) == (False, None, None)
    tub = next(lot for lot in line_of(packed, "Lye")["lots"] if lot["id"] == pure.pk)
    assert tub["purity"] == [pytest.approx(98.9), pytest.approx(99.5)]


def test_it_tells_what_was_done_so_far_and_when():
    shop = bench()
    batch = shop.plan()
    noted = weighed(batch, shop, "Olive oil", "452.5")
    leave(line=batch.lines.get(material__name="Scent"), by=shop.maker)
    mix_lye(batch=batch, by=shop.maker)
    log_event(
        batch=batch,
        kind=Event.Kind.LYE_TEMPERATURE,
        key=uuid4(),
        by=shop.maker,
        celsius=Decimal("41.5"),
        photo=upload(jpeg()),
    )
    batch.refresh_from_db()

    packed = Phone(batch, shop.maker).pack()

    [weighing] = packed["weighings"]
    assert (weighing["key"], weighing["quantity"], weighing["by"]) == (
        str(noted.key),
        "452.50",
        shop.maker.pk,
    )
    assert (weighing["lot_code"], weighing["by_name"]) == (shop.lots["Olive oil"].code, str(shop.maker))
    assert line_of(packed, "Scent")["done"] is True
    assert parse_datetime(packed["batch"]["lye_mixed_at"]) == batch.lye_mixed_at
    [event] = packed["events"]
    assert (event["kind"], event["label"], event["celsius"]) == ("lye_temperature", "Lye", "41.5")
    assert event["photo"].startswith("/photos/") or "/full" in event["photo"]
    kinds = {each["kind"]: each for each in packed["event_kinds"]}
    assert (kinds["lye_temperature"]["temperature"], kinds["seizing"]["temperature"]) == (True, False)
    assert len(kinds) == len(Event.Kind)


def test_a_lot_that_was_emptied_into_this_batch_stays_with_its_line():
    """Without it the phone would not know of the certificate of what is in the pot."""
    shop = bench()
    last = LotFactory(
        material=shop.materials["Olive oil"], quantity=100, sap=Decimal(190), sap_uncertainty=Decimal(1)
    )
    batch = shop.plan()
    line = batch.lines.get(material__name="Olive oil")
    weigh(line=line, lot=last, quantity=Decimal(100), key=uuid4(), by=shop.maker, more_to_come=True)
    type(last).objects.filter(pk=last.pk).update(on_hand=0)

    lots = line_of(Phone(batch, shop.maker).pack(), "Olive oil")["lots"]

    assert next(lot["free"] for lot in lots if lot["id"] == last.pk) == "0"


def test_what_was_added_beyond_the_card_is_a_line_of_its_own():
    shop = bench()
    batch = shop.plan()
    rice = LotFactory(quantity=500)
    add_to_pot(batch=batch, lot=rice, quantity=Decimal(50), key=uuid4(), by=shop.maker)

    extra = line_of(Phone(batch, shop.maker).pack(), rice.material.name)

    assert (extra["extra"], extra["done"], extra["planned"]) == (True, True, "50.00")
    assert extra["sap"] == {"low": 184, "nominal": 190, "high": 196}


def test_chemistry_comes_from_the_one_place_where_it_stands():
    shop = bench()

    chemistry = Phone(shop.plan(), shop.maker).pack()["chemistry"]

    assert chemistry["KOH"] == {"label": "Potassium hydroxide", "molar_mass": M_KOH}
    assert chemistry["acids"]["citric"]["protons"] == 3
    assert set(chemistry["acids"]) == {kind.value for kind in AcidKind}


def test_it_is_plain_json_and_takes_the_same_queries_for_many_lots_and_weighings(
    django_assert_num_queries,
):
    shop = bench()
    WorkshopFactory(units="us")
    batch, settings = shop.plan(), workshop()
    with django_assert_num_queries(4):
        pack(batch, by=shop.maker, workshop=settings)
    for name in ("Olive oil", "Coconut oil", "Palm oil"):
        LotFactory(material=shop.materials[name])
        weighed(batch, shop, name, 100, more_to_come=True)
        weighed(batch, shop, name, 100)
        log_event(batch=batch, kind=Event.Kind.NOTE, words="a", key=uuid4(), by=shop.maker)
    with django_assert_num_queries(4):
        packed = pack(batch, by=shop.maker, workshop=settings)
    assert json.loads(json.dumps(packed))["units"] == "us"


def test_hello_tells_who_is_signed_in_and_gives_a_token_that_works():
    owner = OwnerFactory()
    batch = bench().plan()
    phone = Phone(batch, owner, Client(enforce_csrf_checks=True))

    said = phone.client.get(reverse("batches:hello")).json()

    assert said["person"] == {"id": owner.pk, "name": str(owner), "owner": True, "maker": True}
    address = reverse("batches:deeds", args=[batch.pk])
    deed = {"deed": json.dumps(phone.deed("lye"))}
    assert phone.client.post(address, deed).status_code == 403
    assert phone.client.post(address, deed, headers={"X-CSRFToken": said["csrf"]}).status_code == 200


def test_hello_says_that_a_viewer_is_no_maker(client_of):
    said = client_of(ViewerFactory()).get(reverse("batches:hello")).json()

    assert (said["person"]["owner"], said["person"]["maker"]) == (False, False)


def test_signed_out_a_phone_is_told_in_json():
    batch = bench().plan()
    for name, arguments in (("hello", []), ("pack", [batch.pk]), ("deeds", [batch.pk])):
        for method in (Client().get, Client().post):
            answer = method(reverse(f"batches:{name}", args=arguments))
            assert (answer.status_code, answer.json()) == (401, {"result": "signed_out"})
