"""The page on which a delivery is received: several lines in several units, with and without JavaScript."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse
from django.utils import timezone

from inventory.models import Delivery, Lot
from tests.factories import LotFactory, MaterialFactory, SupplierFactory

pytestmark = pytest.mark.django_db

RECEIVE = reverse("inventory:receive")


@pytest.fixture
def phone(client_of, maker, workshop):
    return client_of(maker)


def text(response):
    return response.content.decode()


def delivery_form(*lines, **head):
    """A form as the page sends it: one or more lines, each with what is given over a good one."""
    data = {"key": str(uuid4()), "received_on": timezone.localdate().isoformat(), "reference": "", **head}
    data["lines"] = str(len(lines))
    for place, line in enumerate(lines):
        data |= {f"line-{place}-{name}": value for name, value in line.items()}
    return data


def test_a_delivery_of_several_lines_in_several_units(phone):
    supplier, olive = SupplierFactory(), MaterialFactory(name="Olive oil", density=Decimal("0.91"))
    boxes, lye = MaterialFactory(packaging=True), MaterialFactory(naoh=True)
    sent = delivery_form(
        {"material": olive.pk, "quantity": "5 kg", "cost": "38,50", "sap": "189.5", "sap_uncertainty": "1.5"},
        {"material": olive.pk, "quantity": "1.5 L", "cost": "12"},
        {
            "material": lye.pk,
            "quantity": "2 lb 3 oz",
            "cost": "9.90",
            "purity": "98.9",
            "purity_uncertainty": "0.4",
        },
        {"material": boxes.pk, "quantity": "250 pieces", "cost": "0"},
        {"material": "", "quantity": "", "cost": ""},
        supplier=supplier.pk,
    )
    response = phone.post(RECEIVE, sent)
    assert response.status_code == 302
    lots = list(Lot.objects.order_by("pk"))
    assert [lot.on_hand for lot in lots] == [5000, 1365, Decimal("992.23"), 250]
    assert (lots[0].cost, lots[0].sap, lots[2].purity) == (
        Decimal("38.50"),
        Decimal("189.50"),
        Decimal("98.900"),
    )
    assert "On the shelf." in [str(message) for message in get_messages(response.wsgi_request)]


def test_a_delivery_sent_twice_comes_once(phone):
    sent = delivery_form(
        {"material": MaterialFactory().pk, "quantity": "5000", "cost": "9"}, supplier=SupplierFactory().pk
    )
    first, second = phone.post(RECEIVE, sent), phone.post(RECEIVE, sent)
    assert first.url == second.url
    assert Lot.objects.get().on_hand == 5000


def test_a_certificate_without_uncertainty_is_given_the_usual_one(phone):
    sent = delivery_form(
        {"material": MaterialFactory().pk, "quantity": "5000", "cost": "9", "sap": "190"},
        supplier=SupplierFactory().pk,
    )
    phone.post(RECEIVE, sent)
    assert Lot.objects.get().sap_uncertainty == 1


def test_another_line_keeps_what_was_typed_and_checks_nothing_yet(phone):
    supplier, key = SupplierFactory(), str(uuid4())
    sent = delivery_form(
        {"material": "", "quantity": "half a drum", "cost": "?"}, supplier=supplier.pk, key=key
    )
    response = phone.post(RECEIVE, {**sent, "another": "1"})
    page = text(response)
    assert response.status_code == 200
    assert 'name="lines" value="2"' in page
    assert "half a drum" in page
    assert key in page
    assert "autofocus" in page.split('name="line-1-material"')[1].split(">")[0]
    assert "field-errors" not in page
    assert not Delivery.objects.exists()


def test_a_line_in_the_middle_is_left_out(phone):
    SupplierFactory()
    lines = [{"material": "", "quantity": amount, "cost": ""} for amount in ("111", "222", "333")]
    page = text(phone.post(RECEIVE, {**delivery_form(*lines), "without": "1"}))
    assert 'name="lines" value="2"' in page
    assert "111" in page
    assert "333" in page
    assert 'value="222"' not in page


def test_a_line_follows_the_kind_of_its_material(phone):
    SupplierFactory()
    lye, oil = MaterialFactory(naoh=True, name="Sodium hydroxide"), MaterialFactory()
    for material, shown, hidden in (
        (lye, "line-0-purity", "line-0-sap"),
        (oil, "line-0-sap", "line-0-purity"),
    ):
        sent = delivery_form({"material": material.pk, "quantity": "", "cost": ""})
        page = text(phone.post(RECEIVE, {**sent, "redraw": "1"}, headers={"HX-Request": "true"}))
        assert f'name="{shown}"' in page
        assert f'name="{hidden}"' not in page
        assert "<h1" not in page


def test_the_next_code_is_proposed(phone):
    SupplierFactory()
    oil = MaterialFactory(name="Coconut oil")
    LotFactory(material=oil, code="CO-0041")
    assert "CO-0042" in text(phone.get(RECEIVE, {"material": oil.pk}))


@pytest.mark.parametrize("lines", ["", "0", "-1", "abc", "99999999", "1e9", "²"])
def test_a_nonsense_number_of_lines_is_no_error(phone, lines):
    sent = {
        **delivery_form({"material": "", "quantity": "", "cost": ""}, supplier=SupplierFactory().pk),
        "lines": lines,
    }
    assert phone.post(RECEIVE, sent).status_code == 422
    assert not Delivery.objects.exists()


def test_a_code_that_exists_is_said_at_its_line_and_the_rest_is_kept(phone):
    LotFactory(code="CO-0312")
    oil = MaterialFactory()
    sent = delivery_form(
        {"material": "", "quantity": "", "cost": ""},
        {"material": oil.pk, "quantity": "777 g", "cost": "9", "code": "CO-0312"},
        supplier=SupplierFactory().pk,
    )
    response = phone.post(RECEIVE, sent)
    page = text(response)
    assert response.status_code == 422
    assert "There is a lot CO-0312 already." in page
    assert "777 g" in page
    assert Delivery.objects.count() == 1


def test_a_delivery_form_of_forty_lines_takes_no_more_than_fifteen_queries(
    phone, django_assert_max_num_queries
):
    line = {"material": MaterialFactory().pk, "quantity": "x", "cost": "1"}
    sent = delivery_form(*[line] * 40, supplier=SupplierFactory().pk)
    with django_assert_max_num_queries(15):
        assert phone.post(RECEIVE, sent).status_code == 422


def test_a_delivery_of_tomorrow_is_refused_beside_its_day(phone):
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()
    line = {"material": MaterialFactory().pk, "quantity": "5 kg", "cost": "9"}
    sent = delivery_form(line, supplier=SupplierFactory().pk, received_on=tomorrow)
    response = phone.post(RECEIVE, sent)
    assert response.status_code == 422
    assert response.context["forms"].head.errors["received_on"] == ["That day has not come yet."]
    assert "5 kg" in text(response)
