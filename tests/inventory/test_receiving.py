"""A delivery becomes lots, once, and only if every line of it can stand."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from inventory.models import Delivery, Lot, Material, Movement
from inventory.services.receiving import LineError, ReceivedLine, initials, next_lot_codes, receive
from soapshop.core.queries import history_of
from tests.factories import LotFactory, MaterialFactory, SupplierFactory

pytestmark = pytest.mark.django_db


def line(**kwargs):
    kwargs.setdefault("material", kwargs.pop("of", None) or MaterialFactory())
    return ReceivedLine(**{"quantity": Decimal(5000), "cost": Decimal("38.50"), **kwargs})


def bring(by, *lines, **kwargs):
    kwargs.setdefault("received_on", timezone.localdate())
    kwargs.setdefault("key", uuid4())
    return receive(supplier=kwargs.pop("supplier", None) or SupplierFactory(), lines=lines, by=by, **kwargs)


def test_each_line_becomes_a_lot_that_holds_what_came(maker):
    delivery = bring(maker, line(), line(quantity=Decimal("250.5"), place="shelf B2"), reference="A-17")
    first, second = delivery.lots.order_by("pk")
    assert (first.on_hand, second.on_hand, second.place) == (5000, Decimal("250.50"), "shelf B2")
    assert first.unit_cost == Decimal("38.50") / 5000
    assert first.movements.get().document == "A-17"


def test_the_same_delivery_sent_twice_comes_once(maker):
    key, supplier, oil = uuid4(), SupplierFactory(), MaterialFactory()
    first = bring(maker, line(of=oil), key=key, supplier=supplier)
    assert bring(maker, line(of=oil), key=key, supplier=supplier) == first
    assert Lot.objects.get().on_hand == 5000


def test_codes_are_initials_and_the_next_number(maker):
    coconut, olive = MaterialFactory(name="Coconut oil"), MaterialFactory(name="Olive oil")
    LotFactory(material=coconut, code="CO-0311")
    delivery = bring(maker, line(of=coconut), line(of=olive), line(of=coconut))
    assert [lot.code for lot in delivery.lots.order_by("pk")] == ["CO-0312", "OO-0001", "CO-0313"]


def test_a_code_that_was_typed_in_another_line_is_not_given_out(maker):
    coconut = MaterialFactory(name="Coconut oil")
    delivery = bring(maker, line(of=coconut), line(of=coconut, code="CO-0001"))
    assert {lot.code for lot in delivery.lots.all()} == {"CO-0001", "CO-0002"}


@pytest.mark.parametrize(
    ("name", "expected"),
    [("Coconut oil", "CO"), ("Shea", "SH"), ("Oil, olive", "OO"), ("🫒", "LO"), ("x", "X"), ("Äpfel", "PF")],
)
def test_initials_of_a_name(name, expected):
    assert initials(name) == expected


@pytest.mark.parametrize("name", ["x", "🫒", "Shea"])
def test_codes_of_odd_names_go_on_counting(name):
    material = MaterialFactory(name=name)
    [first] = next_lot_codes([material])
    LotFactory(material=material, code=first)
    [second] = next_lot_codes([material])
    assert first.endswith("-0001")
    assert second.endswith("-0002")


def test_codes_for_many_lines_are_found_in_one_query(django_assert_num_queries):
    materials = [MaterialFactory() for _ in range(20)]
    with django_assert_num_queries(1):
        assert len(set(next_lot_codes(materials))) == 20


def test_a_code_that_exists_is_refused_at_its_line(maker):
    LotFactory(code="CO-0312")
    with pytest.raises(LineError) as refused:
        bring(maker, line(), line(code="CO-0312"))
    assert refused.value.index == 1
    assert "CO-0312" in refused.value.message_dict["code"][0]
    assert Delivery.objects.count() == 1


def test_one_code_twice_in_a_delivery_is_refused(maker):
    with pytest.raises(LineError):
        bring(maker, line(code="A-1"), line(code="A-1"))
    assert not Lot.objects.exists()


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("quantity", {"quantity": Decimal(0)}),
        ("quantity", {"quantity": Decimal(-1)}),
        ("quantity", {"quantity": Decimal("NaN")}),
        ("quantity", {"quantity": Decimal("1e12")}),
        ("cost", {"cost": Decimal("-0.01")}),
        ("cost", {"cost": Decimal("NaN")}),
        ("sap", {"sap": Decimal(0), "sap_uncertainty": Decimal(1)}),
        ("sap", {"sap": Decimal(701), "sap_uncertainty": Decimal(1)}),
        ("sap_uncertainty", {"sap": Decimal(190)}),
        ("sap_uncertainty", {"sap": Decimal(190), "sap_uncertainty": Decimal(-1)}),
        ("sap_uncertainty", {"sap": Decimal(190), "sap_uncertainty": Decimal(190)}),
        ("purity", {"purity": Decimal(98), "purity_uncertainty": Decimal(1)}),  # of a fat
    ],
)
def test_a_line_that_cannot_be_is_refused_whole_and_nothing_is_written(maker, field, values):
    with pytest.raises(LineError) as refused:
        bring(maker, line(), line(**values))
    assert refused.value.index == 1
    assert list(refused.value.message_dict) == [field]
    assert not Delivery.objects.exists()
    assert not Movement.objects.exists()


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("purity", {"purity": Decimal(101), "purity_uncertainty": Decimal(1)}),
        ("purity_uncertainty", {"purity": Decimal(98)}),
        ("sap", {"sap": Decimal(190), "sap_uncertainty": Decimal(1)}),  # of an alkali
    ],
)
def test_an_alkali_has_a_purity_and_no_saponification_value(maker, field, values):
    with pytest.raises(LineError) as refused:
        bring(maker, line(of=MaterialFactory(naoh=True), **values))
    assert list(refused.value.message_dict) == [field]


def test_packaging_comes_in_whole_pieces(maker):
    with pytest.raises(LineError, match="whole pieces"):
        bring(maker, line(of=MaterialFactory(packaging=True), quantity=Decimal("10.5")))


def test_embeds_come_in_whole_pieces_and_toppings_by_weight(maker):
    with pytest.raises(LineError, match="Sun disc is counted in whole pieces"):
        bring(maker, line(of=MaterialFactory(embed=True, name="Sun disc"), quantity=Decimal("10.5")))
    delivery = bring(maker, line(of=MaterialFactory(topping=True), quantity=Decimal("10.5")))
    assert delivery.lots.get().on_hand == Decimal("10.5")


def test_batter_kept_back_is_not_bought(maker):
    with pytest.raises(LineError, match="comes from a pour") as refused:
        bring(maker, line(of=MaterialFactory(batter=True)))
    assert list(refused.value.message_dict) == ["material"]


def test_what_was_past_its_date_when_it_came_is_refused(maker):
    today = timezone.localdate()
    with pytest.raises(LineError, match="best-before"):
        bring(maker, line(best_before=today - timedelta(days=1)))
    bring(maker, line(best_before=today))


def test_a_delivery_of_tomorrow_or_of_nothing_is_refused(maker):
    with pytest.raises(ValidationError, match="not come yet"):
        bring(maker, line(), received_on=timezone.localdate() + timedelta(days=1))
    with pytest.raises(ValidationError, match="at least one line"):
        bring(maker)


def test_a_viewer_receives_nothing(viewer):
    with pytest.raises(PermissionDenied):
        bring(viewer, line())
    assert not Lot.objects.exists()


def test_the_certificate_of_a_lot_goes_before_the_reference(maker):
    oil = MaterialFactory()
    delivery = bring(maker, line(of=oil, sap=Decimal("189.5"), sap_uncertainty=Decimal("1.5")), line(of=oil))
    certified, plain = delivery.lots.order_by("pk")
    assert (certified.saponification_value.low, certified.saponification_value.high) == (188.0, 191.0)
    assert plain.saponification_value == Material.objects.get().sap


def test_an_uncertainty_without_a_value_is_left_out(maker):
    lot = bring(maker, line(sap_uncertainty=Decimal(1), purity_uncertainty=Decimal(1))).lots.get()
    assert (lot.sap_uncertainty, lot.purity_uncertainty) == (None, None)


def test_who_received_what_is_remembered(maker):
    delivery = bring(maker, line(), line(), supplier=SupplierFactory(name="Lantern Oils"))
    [entry] = history_of(delivery)
    assert (entry.what, entry.by) == ("received 2 lots from Lantern Oils", maker)
