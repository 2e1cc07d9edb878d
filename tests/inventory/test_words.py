"""Amounts and prices as pages write them, and what rows say of themselves."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.template import Context, Template
from django.utils import timezone

from inventory.services import ledger
from soapshop.core.models import Workshop
from tests.factories import LotFactory, MaterialFactory

OIL, BOXES = MaterialFactory.build(), MaterialFactory.build(packaging=True)


def written(tag, *, units="metric", **names):
    workshop = Workshop(units=units, currency="EUR", expiry_warning_days=60)
    text = Template("{% load stockroom %}{% " + tag + " %}").render(Context({"workshop": workshop, **names}))
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("tag", "quantity", "expected"),
    [
        ("amount", "11240", "11.2 kg"),
        ("amount", "850.4", "850 g"),
        ("exact_amount", "11240", "11 240 g"),
        ("exact_amount", "0.25", "0.25 g"),
        ("change", "-1268", "−1 268 g"),
        ("change", "5000", "+5 000 g"),
    ],
)
def test_weights_are_told_in_grams_and_kilograms(tag, quantity, expected):
    assert written(f"{tag} quantity material", quantity=Decimal(quantity), material=OIL) == expected


def test_weights_are_told_in_pounds_where_the_workshop_wants_them():
    names = {"quantity": Decimal("992.23"), "material": OIL, "units": "us"}
    assert written("exact_amount quantity material", **names) == "2 lb 3.00 oz"
    assert written("amount quantity material", **names) == "35 oz"


@pytest.mark.parametrize(
    ("quantity", "expected"),
    [("1", "1 piece"), ("250.00", "250 pieces"), ("1200", "1 200 pieces"), ("0", "0 pieces")],
)
def test_packaging_is_told_in_pieces(quantity, expected):
    assert written("amount quantity material", quantity=Decimal(quantity), material=BOXES) == expected
    assert written("exact_amount quantity material", quantity=Decimal(quantity), material=BOXES) == expected


def test_prices_are_told_by_what_people_compare():
    assert written("unit_price cost material", cost=Decimal("0.0077"), material=OIL) == "7.70 EUR a kg"
    assert written("unit_price cost material", cost=Decimal("1.2"), material=OIL) == "1 200.00 EUR a kg"
    assert written("unit_price cost material", cost=Decimal("0.17"), material=BOXES) == "0.17 EUR a piece"


@pytest.mark.django_db
def test_a_lot_says_whether_it_goes_off_as_long_as_it_holds_something(maker):
    def state(lot):
        return written("lot_state lot", lot=lot)

    today = timezone.localdate()
    past = LotFactory(best_before=today - timedelta(days=1), received_on=today - timedelta(days=9))
    assert state(past) == "stop"
    assert state(LotFactory(best_before=today + timedelta(days=60))) == "watch"
    assert state(LotFactory(best_before=today + timedelta(days=61))) == ""
    assert state(LotFactory()) == ""
    ledger.discard(lot=past, quantity=past.on_hand, reason="rancid", key="d", by=maker)
    past.refresh_from_db()
    assert state(past) == ""


@pytest.mark.django_db
def test_rows_name_themselves_for_the_rescue_tool():
    lot = LotFactory(code="CO-0312", received_on=date(2026, 5, 3))
    assert str(lot.delivery) == f"{lot.delivery.supplier.name}, 03 May 2026"
    assert str(lot) == "CO-0312"
    assert str(lot.movements.get()) == f"Received 5000.00 of {lot.pk}"


@pytest.mark.django_db
def test_the_purity_of_a_lot_is_its_certificates_inside_what_can_be():
    lye = MaterialFactory(naoh=True)
    certified = LotFactory(material=lye, purity=Decimal("99.8"), purity_uncertainty=Decimal("0.5"))
    assert certified.purity_range == (99.3, 100.0)
    assert LotFactory(material=lye).purity_range == (97.0, 100.0)
    assert LotFactory().purity_range is None
