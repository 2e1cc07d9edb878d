"""The pages of the stockroom: who may open and send them, and what they say."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse
from django.utils import timezone

from inventory.models import Lot, Material, Movement, Supplier
from inventory.services import ledger
from tests.factories import LotFactory, MaterialFactory, SupplierFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def phone(client_of, maker, workshop):
    return client_of(maker)


def url(name, *args):
    return reverse(f"inventory:{name}", args=args)


def text(response):
    return response.content.decode()


def said(response):
    return [str(message) for message in get_messages(response.wsgi_request)]


# Looking


def test_the_stockroom_says_what_is_low_and_what_goes_off(phone):
    LotFactory(material=MaterialFactory(name="Olive oil", reorder_level=9000), quantity=4200)
    soon = timezone.localdate() + timedelta(days=3)
    LotFactory(material=MaterialFactory(name="Hemp oil"), code="HO-0001", best_before=soon)
    page = text(phone.get(url("stockroom")))
    assert "Low, reorder at" in page
    assert "4\N{NARROW NO-BREAK SPACE}200\N{NO-BREAK SPACE}g" in page
    assert "HO-0001 goes off" in page
    assert "in 3 days" in page


def test_an_empty_stockroom_offers_the_first_step(phone):
    page = text(phone.get(url("stockroom")))
    assert "The shelves are empty" in page
    assert url("receive") in page


@pytest.mark.parametrize(
    "asked",
    ["?show=nonsense", "?kind=nonsense", "?page=nonsense", "?page=-1", "?q=%00", "?q=" + "x" * 5000, "?q=🧼"],
)
def test_nonsense_in_the_address_of_the_stockroom_is_no_error(phone, asked):
    LotFactory()
    assert phone.get(url("stockroom") + asked).status_code == 200


@pytest.mark.parametrize(
    "asked", ["?material=x", "?material=" + "9" * 30, "?material=-1", "?kind=x", "?page=🧼"]
)
def test_nonsense_in_the_address_of_the_ledger_is_no_error(phone, asked):
    LotFactory()
    assert phone.get(url("ledger") + asked).status_code == 200


def test_searching_by_htmx_brings_only_the_part_that_changes(phone):
    LotFactory(material=MaterialFactory(name="Olive oil"))
    LotFactory(material=MaterialFactory(name="Hemp oil"))
    page = text(phone.get(url("stockroom"), {"q": "hemp"}, headers={"HX-Request": "true"}))
    assert "Hemp oil" in page
    assert "Olive oil" not in page
    assert "<h1" not in page


def test_the_ledger_shows_one_material_or_one_kind_of_movement(phone, maker):
    olive, hemp = LotFactory(code="OO-0001"), LotFactory(code="HO-0001")
    ledger.discard(lot=olive, quantity=Decimal(1), reason="spilled", key="d", by=maker)
    of_olive = text(phone.get(url("ledger"), {"material": olive.material_id}))
    assert "OO-0001" in of_olive
    assert "HO-0001" not in of_olive
    wasted = text(phone.get(url("ledger"), {"kind": "wasted"}))
    assert "spilled" in wasted
    assert "HO-0001" not in wasted
    assert hemp.code not in wasted


def test_only_what_may_be_taken_back_by_hand_offers_it(phone, maker):
    lot = LotFactory()
    poured = ledger.take(
        lot=lot, quantity=Decimal(9), kind=Movement.Kind.POURED, document="26-0001", key="p", by=maker
    )
    page = text(phone.get(url("lot", lot.pk)))
    assert url("reverse", lot.movements.get(kind="received").pk) in page
    assert url("reverse", poured.pk) not in page


def test_a_viewer_sees_the_stock_and_no_way_to_change_it(client_of, viewer, workshop):
    lot = LotFactory(material=MaterialFactory(name="Olive oil"))
    looker = client_of(viewer)
    for address in (
        url("stockroom"),
        url("material", lot.material_id),
        url("lot", lot.pk),
        url("ledger"),
        url("suppliers"),
        url("deliveries"),
        url("delivery", lot.delivery_id),
    ):
        response = looker.get(address)
        assert response.status_code == 200
        for forbidden in (
            url("receive"),
            url("material_add"),
            "/edit/",
            "/correct/",
            "/discard/",
            "/reverse/",
            url("supplier_add"),
            "/archive/",
        ):
            assert forbidden not in text(response), f"{address} offers {forbidden}"


def test_a_viewer_can_change_nothing_by_sending_forms(client_of, viewer, workshop):
    lot, supplier = LotFactory(), SupplierFactory()
    looker = client_of(viewer)
    for address in (
        url("receive"),
        url("material_add"),
        url("material_edit", lot.material_id),
        url("lot_edit", lot.pk),
        url("material_archive", lot.material_id),
        url("correct", lot.pk),
        url("discard", lot.pk),
        url("reverse", lot.movements.get().pk),
        url("supplier_add"),
        url("supplier_edit", supplier.pk),
        url("supplier_archive", supplier.pk),
    ):
        assert looker.post(address, {"name": "x"}).status_code == 403
    assert Movement.objects.count() == 1


# Changing


def test_a_fat_of_ones_own_is_added_and_the_assumed_range_is_said(phone):
    response = phone.post(
        url("material_add") + "?kind=fat", {"name": "Plum kernel oil", "sap_nominal": "190"}
    )
    assert response.status_code == 302
    assert Material.objects.get().sap_high == Decimal("195.70")
    assert "184.30 to 195.70 mg KOH/g" in said(response)[0]


def test_the_kind_is_asked_first_and_only_its_fields_follow(phone):
    assert "?kind=packaging" in text(phone.get(url("material_add")))
    fat = text(phone.get(url("material_add") + "?kind=fat"))
    assert 'name="sap_nominal"' in fat
    assert 'name="purity_low"' not in fat
    assert 'name="alkali"' in text(phone.get(url("material_add") + "?kind=alkali"))


def test_a_kind_that_does_not_exist_is_asked_for_again(phone):
    assert phone.post(url("material_add") + "?kind=cheese", {"name": "x"}).status_code == 200
    assert not Material.objects.exists()


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("alkali", {"alkali": "koh", "purity_low": "85", "purity_high": "92 %"}),
        ("liquid", {"density": "1,03"}),
        ("fragrance", {"reorder_level": "200 g"}),
        ("colour", {"colour": "#A4472A"}),
        ("additive", {"acid": "citric"}),
        ("packaging", {"reorder_level": "250"}),
    ],
)
def test_a_material_of_each_kind_is_added_and_changed(phone, kind, fields):
    assert (
        phone.post(url("material_add") + f"?kind={kind}", {"name": "New thing", **fields}).status_code == 302
    )
    made = Material.objects.get()
    assert made.kind == kind
    page = phone.get(url("material_edit", made.pk))
    sent = {
        name: field.value() if field.value() is not None else ""
        for name, field in ((each.name, each) for each in page.context["form"])
    }
    assert phone.post(url("material_edit", made.pk), {**sent, "note": "kept dry"}).status_code == 302
    made.refresh_from_db()
    assert made.note == "kept dry"


def test_a_supplier_is_added_changed_and_put_away(phone):
    phone.post(url("supplier_add"), {"name": "Lantern Oils"})
    supplier = Supplier.objects.get()
    phone.post(url("supplier_edit", supplier.pk), {"name": "Lantern & Co", "website": "lantern.example"})
    phone.post(url("supplier_archive", supplier.pk))
    supplier.refresh_from_db()
    assert (supplier.name, supplier.website, supplier.archived) == (
        "Lantern & Co",
        "https://lantern.example",
        True,
    )


def test_a_material_with_stock_is_not_put_away_and_the_page_says_why(phone):
    lot = LotFactory()
    response = phone.post(url("material_archive", lot.material_id), follow=True)
    assert "on the shelf" in text(response)
    assert not Material.objects.get().archived


def test_a_lot_is_corrected_once_however_often_it_is_sent(phone):
    lot = LotFactory(quantity=5000)
    sent = {"key": str(uuid4()), "counted": "4.8 kg", "reason": "weighed again"}
    for _ in range(2):
        assert phone.post(url("correct", lot.pk), sent).status_code == 302
    assert Lot.objects.get().on_hand == 4800
    assert Movement.objects.filter(kind="corrected").count() == 1


def test_a_lot_may_be_corrected_to_nothing(phone):
    lot = LotFactory()
    phone.post(url("correct", lot.pk), {"key": str(uuid4()), "counted": "0", "reason": "empty"})
    assert Lot.objects.get().on_hand == 0


def test_more_than_is_there_cannot_be_discarded_and_the_field_says_so(phone):
    lot = LotFactory(quantity=500)
    response = phone.post(
        url("discard", lot.pk), {"key": str(uuid4()), "quantity": "868", "reason": "spilled"}
    )
    assert response.status_code == 422
    assert "368" in response.context["form"].errors["quantity"][0]
    assert 'value="868"' in text(response)


def test_what_was_discarded_is_taken_back(phone):
    lot = LotFactory(quantity=500)
    sent = {"key": str(uuid4()), "quantity": "100", "reason": "spilled"}
    for _ in range(2):
        phone.post(url("discard", lot.pk), sent)
    movement = Movement.objects.get(kind="wasted")
    back = {"key": str(uuid4()), "reason": "it was water"}
    for _ in range(2):
        assert phone.post(url("reverse", movement.pk), back).status_code == 302
    assert Lot.objects.get().on_hand == 500


def test_what_a_batch_took_is_not_taken_back_here_and_the_page_says_where(phone, maker):
    lot = LotFactory()
    poured = ledger.take(
        lot=lot, quantity=Decimal(9), kind=Movement.Kind.POURED, document="26-0001", key="p", by=maker
    )
    assert "26-0001" in text(phone.get(url("reverse", poured.pk)))
    response = phone.post(url("reverse", poured.pk), {"key": str(uuid4()), "reason": "oops"})
    assert response.status_code == 422
    assert Lot.objects.get().on_hand == 4991


def test_what_is_written_on_a_lot_is_changed(phone):
    lot = LotFactory()
    sent = {"place": "shelf C3", "cost": "41.20", "sap": "190.4", "best_before": "2031-02-01"}
    assert phone.post(url("lot_edit", lot.pk), sent).status_code == 302
    lot.refresh_from_db()
    assert (lot.place, lot.cost, lot.sap, lot.sap_uncertainty) == (
        "shelf C3",
        Decimal("41.20"),
        Decimal("190.40"),
        1,
    )


def test_no_page_takes_more_than_fifteen_queries(phone, maker, django_assert_max_num_queries):
    for _ in range(20):
        lot = LotFactory(material=MaterialFactory(reorder_level=9000), best_before=timezone.localdate())
    ledger.discard(lot=lot, quantity=Decimal(1), reason="spilled", key="d", by=maker)
    pages = [
        url(name) for name in ("stockroom", "ledger", "deliveries", "suppliers", "receive", "material_add")
    ]
    pages += [url("material", lot.material_id), url("material_edit", lot.material_id), url("lot", lot.pk)]
    pages += [url(name, lot.pk) for name in ("lot_edit", "correct", "discard")]
    pages += [url("delivery", lot.delivery_id), url("reverse", lot.movements.first().pk)]
    for page in pages:
        with django_assert_max_num_queries(15):
            assert phone.get(page).status_code == 200


def test_a_supplier_is_found_by_name(phone):
    for name in ("Lantern Oils", "Greywether"):
        SupplierFactory(name=name)
    page = text(phone.get(url("suppliers"), {"q": "lantern"}, headers={"HX-Request": "true"}))
    assert "Lantern Oils" in page
    assert "Greywether" not in page


def test_only_what_is_low_is_shown_where_asked(phone):
    LotFactory(material=MaterialFactory(name="Olive oil", reorder_level=9000))
    LotFactory(material=MaterialFactory(name="Hemp oil", reorder_level=10))
    page = text(phone.get(url("stockroom"), {"show": "low"}))
    assert "Olive oil" in page
    assert "Hemp oil" not in page


def test_a_name_that_another_has_is_refused_when_changing(phone):
    MaterialFactory(name="Olive oil")
    SupplierFactory(name="Lantern Oils")
    material, supplier = MaterialFactory(), SupplierFactory()
    for address, name in (
        (url("material_edit", material.pk), "Olive oil"),
        (url("supplier_edit", supplier.pk), "Lantern Oils"),
    ):
        response = phone.post(address, {"name": name})
        assert response.status_code == 422
        assert "already" in response.context["form"].errors["name"][0]


def test_a_material_that_was_put_away_is_brought_back(phone):
    material = MaterialFactory()
    for archived in (True, False):
        phone.post(url("material_archive", material.pk))
        material.refresh_from_db()
        assert material.archived is archived


def test_a_supplier_is_not_left_without_a_name(phone):
    supplier = SupplierFactory(name="Lantern Oils")
    assert phone.post(url("supplier_edit", supplier.pk), {"name": " ", "phone": "01632"}).status_code == 422
    supplier.refresh_from_db()
    assert (supplier.name, supplier.phone) == ("Lantern Oils", "")


def test_a_certificate_less_sure_than_its_own_value_is_refused(phone):
    lot = LotFactory()
    response = phone.post(url("lot_edit", lot.pk), {"cost": "9", "sap": "20", "sap_uncertainty": "30"})
    assert response.status_code == 422
    assert list(response.context["form"].errors) == ["sap_uncertainty"]
