"""Every form of the stockroom against bad input: no error page, no wrong figure, nothing lost."""

from decimal import Decimal
from itertools import product
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.models import Delivery, Lot, Material, Movement, Supplier
from tests.factories import LotFactory, MaterialFactory, SupplierFactory

pytestmark = pytest.mark.django_db

TEXTS = [
    "",
    "   ",
    "🧼🫧",
    "x" * 10_000,
    "<script>alert(1)</script>",
    "\x00",
    "a\x00b",
    "\ud800".encode("utf-8", "replace").decode(),
]
NUMBERS = [
    "-1",
    "-0.01",
    "1e400",
    "NaN",
    "nan",
    "inf",
    "-Infinity",
    "1" * 60,
    "99999999999",
    "0x10",
    "5 parsecs",
    "12 °C",
    "3 cm",
    "1/0",
    "²",
    "1e-9",
    "--5",
    "1,2,3",
    *TEXTS,
]
DAYS = ["yesterday", "0000-00-00", "9999-12-31", "0001-01-01", "2026-02-30", "31.12.2026\x00", *TEXTS]


@pytest.fixture
def phone(client_of, maker, workshop):
    return client_of(maker)


def url(name, *args):
    return reverse(f"inventory:{name}", args=args)


def filled(values):
    """Without those that a field which may be empty takes for empty."""
    return [value for value in values if value.strip()]


def refused(response, typed):
    """The form came back with the value as it was typed, escaped, and something said about it."""
    page = response.content.decode()
    assert response.status_code == 422, page[:300]
    assert "<script>alert" not in page
    assert 'aria-invalid="true"' in page
    if typed.strip() and typed.isascii() and typed.isprintable() and "<" not in typed:
        assert typed.strip() in page
    return page


def delivery(**line):
    oil, supplier = MaterialFactory(), SupplierFactory()
    good = {"material": oil.pk, "quantity": "5 kg", "cost": "38.50"}
    data = {
        "key": str(uuid4()),
        "supplier": supplier.pk,
        "received_on": timezone.localdate().isoformat(),
        "lines": "1",
    }
    return data | {f"line-0-{name}": value for name, value in {**good, **line}.items()}


def test_a_quantity_that_is_none_is_refused(phone):
    for typed in [*NUMBERS, "0", "3 tsp", "1.5 L"]:
        refused(phone.post(url("receive"), delivery(quantity=typed)), typed)
    assert not Delivery.objects.exists()


def test_a_price_that_is_none_is_refused(phone):
    for typed in NUMBERS:
        refused(phone.post(url("receive"), delivery(cost=typed)), typed)
    assert not Delivery.objects.exists()


def test_a_day_that_is_none_is_refused(phone):
    for typed in filled(DAYS):
        refused(phone.post(url("receive"), delivery(best_before=typed)), typed)
        refused(phone.post(url("receive"), delivery() | {"received_on": typed}), typed)
    assert not Delivery.objects.exists()


@pytest.mark.parametrize("typed", ["", "x", "-1", "0", "999999999999999999999", "🧼", "1\x00", "1 or 1=1"])
def test_a_material_or_supplier_that_does_not_exist_is_refused(phone, typed):
    refused(phone.post(url("receive"), delivery(material=typed)), "")
    refused(phone.post(url("receive"), delivery() | {"supplier": typed}), "")
    assert not Delivery.objects.exists()


@pytest.mark.parametrize("key", ["", "x", "1234", "<script>alert(1)</script>", "\x00"])
def test_a_form_without_its_key_is_refused_and_says_so(phone, key):
    page = refused_key(phone.post(url("receive"), delivery() | {"key": key}))
    assert "Not on the shelf yet" in page
    lot = LotFactory()
    for name, fields in (("correct", {"counted": "1"}), ("discard", {"quantity": "1"})):
        refused_key(phone.post(url(name, lot.pk), {"key": key, "reason": "why", **fields}))
    refused_key(phone.post(url("reverse", lot.movements.get().pk), {"key": key, "reason": "why"}))
    assert Lot.objects.get().on_hand == 5000


def refused_key(response):
    assert response.status_code == 422
    return response.content.decode()


@pytest.mark.parametrize("name", ["code", "supplier_code", "place", "note"])
@pytest.mark.parametrize("typed", ["x" * 10_000, "a\x00b"])
def test_words_on_a_lot_that_cannot_be_kept_are_refused(phone, name, typed):
    refused(phone.post(url("receive"), delivery(**{name: typed})), typed)
    assert not Delivery.objects.exists()


@pytest.mark.parametrize("name", ["sap", "sap_uncertainty"])
def test_a_certificate_that_is_none_is_refused(phone, name):
    for typed in filled(NUMBERS):
        refused(phone.post(url("receive"), delivery(**{"sap": "190", name: typed})), typed)
    assert not Delivery.objects.exists()


@pytest.mark.parametrize(
    "typed", ["🧼🫧", "<script>alert(1)</script>", "{{ 7|add:7 }}", "'; DROP TABLE lot; --"]
)
def test_odd_words_are_kept_as_they_are_and_shown_harmlessly(phone, typed):
    phone.post(url("receive"), delivery(place=typed[:40], supplier_code=typed, note=typed))
    lot = Lot.objects.get()
    assert (lot.supplier_code, lot.note) == (typed, typed)
    page = phone.get(url("lot", lot.pk)).content.decode()
    assert "<script>alert" not in page
    assert "14" not in page.split("Supplier’s lot number")[1].split("</dd>")[0]


def test_a_count_that_is_none_is_refused(phone):
    lot, boxes = LotFactory(), LotFactory(material=MaterialFactory(packaging=True))
    for each, typed in product([lot, boxes], NUMBERS):
        sent = {"key": str(uuid4()), "reason": "why", "counted": typed, "quantity": typed}
        refused(phone.post(url("correct", each.pk), sent), typed)
        refused(phone.post(url("discard", each.pk), sent), typed)
    assert set(Lot.objects.values_list("on_hand", flat=True)) == {Decimal(5000)}


@pytest.mark.parametrize("typed", ["1.5", "2 lb", "-3", "1e3"])
@pytest.mark.parametrize("kind", ["packaging", "embed"])
def test_boxes_and_embeds_are_counted_in_whole_pieces(phone, kind, typed):
    boxes = LotFactory(material=MaterialFactory(**{kind: True}))
    page = refused(
        phone.post(url("correct", boxes.pk), {"key": str(uuid4()), "reason": "w", "counted": typed}), typed
    )
    assert "whole pieces" in page


@pytest.mark.parametrize("typed", ["", "  ", "x" * 10_000, "\x00"])
def test_a_reason_that_says_nothing_is_refused(phone, typed):
    lot = LotFactory()
    for name in ("correct", "discard"):
        sent = {"key": str(uuid4()), "counted": "1", "quantity": "1", "reason": typed}
        refused(phone.post(url(name, lot.pk), sent), typed)
    refused(phone.post(url("reverse", lot.movements.get().pk), {"key": str(uuid4()), "reason": typed}), typed)
    assert Movement.objects.count() == 1


@pytest.mark.parametrize("name", ["sap_nominal", "sap_low", "sap_high", "density", "reorder_level"])
def test_a_figure_of_a_fat_that_is_none_is_refused(phone, name):
    for typed in filled(NUMBERS):
        sent = {"name": "Plum oil", "sap_nominal": "190", name: typed}
        refused(phone.post(url("material_add") + "?kind=fat", sent), typed)
    assert not Material.objects.exists()


def test_a_purity_that_is_none_is_refused(phone):
    good = {"name": "Lye", "alkali": "naoh", "purity_low": "97", "purity_high": "99"}
    for name, typed in product(["purity_low", "purity_high"], NUMBERS):
        refused(phone.post(url("material_add") + "?kind=alkali", good | {name: typed}), typed)
    refused(phone.post(url("material_add") + "?kind=alkali", good | {"purity_low": "99.5"}), "99.5")
    assert not Material.objects.exists()


@pytest.mark.parametrize(
    ("kind", "field", "typed"),
    [
        ("alkali", "alkali", "lime"),
        ("additive", "acid", "sulphuric"),
        ("colour", "colour", "red"),
        ("colour", "colour", "#12345g"),
        ("colour", "colour", '#fff"><script>'),
        ("fat", "supplier", "99"),
        ("fat", "supplier", "x"),
        ("fat", "name", ""),
        ("fat", "name", "x" * 10_000),
        ("fat", "name", "\x00"),
        ("fat", "note", "x" * 10_000),
        ("fat", "inci_name", "x" * 10_000),
    ],
)
def test_what_cannot_be_said_of_a_material_is_refused(phone, kind, field, typed):
    good = {"name": "Thing", "alkali": "naoh", "purity_low": "97", "purity_high": "99"}
    response = phone.post(url("material_add") + f"?kind={kind}", good | {field: typed})
    assert response.status_code == 422
    assert field in response.context["form"].errors
    assert not Material.objects.exists()


def test_a_range_in_the_wrong_order_is_refused_and_kept(phone):
    sent = {"name": "Plum oil", "sap_low": "195", "sap_nominal": "190", "sap_high": "185"}
    response = phone.post(url("material_add") + "?kind=fat", sent)
    assert set(response.context["form"].errors) == {"sap_low", "sap_high"}
    for typed in ("195", "190", "185"):
        assert f'value="{typed}"' in response.content.decode()


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("name", ""),
        ("name", "x" * 10_000),
        ("name", "\x00"),
        ("email", "not an address"),
        ("email", "x" * 10_000),
        ("website", "javascript:alert(1)"),
        ("website", "http://"),
        ("phone", "1" * 10_000),
        ("note", "x" * 10_000),
    ],
)
def test_what_cannot_be_said_of_a_supplier_is_refused(phone, field, typed):
    response = phone.post(url("supplier_add"), {"name": "Lantern Oils", field: typed})
    assert response.status_code == 422
    assert field in response.context["form"].errors
    assert not Supplier.objects.exists()


def test_a_name_that_exists_is_refused_for_material_and_supplier(phone):
    MaterialFactory(name="Olive oil")
    SupplierFactory(name="Lantern Oils")
    for address, name in (
        (url("material_add") + "?kind=fat", "olive oil"),
        (url("supplier_add"), "LANTERN oils"),
    ):
        response = phone.post(address, {"name": name})
        assert response.status_code == 422
        assert "already" in response.context["form"].errors["name"][0]


def test_what_cannot_stand_on_a_lot_is_refused(phone):
    lot = LotFactory()
    for name, typed in product(["cost", "sap", "sap_uncertainty"], filled(NUMBERS)):
        refused(phone.post(url("lot_edit", lot.pk), {"cost": "9", "sap": "190", name: typed}), typed)
    lot.refresh_from_db()
    assert (lot.cost, lot.sap) == (40, None)


def test_a_range_without_the_usual_value_is_refused(phone):
    response = phone.post(url("material_add") + "?kind=fat", {"name": "Plum oil", "sap_low": "184"})
    assert list(response.context["form"].errors) == ["sap_nominal"]
    assert not Material.objects.exists()
