"""Labels for lots: the code on a printed label opens the lot it sticks on."""

from decimal import Decimal
from urllib.parse import urlsplit
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.models import Lot
from inventory.queries import lots_to_label
from inventory.services.receiving import ReceivedLine, receive
from soapshop.core import pdf
from tests import printed
from tests.bad_input import EMOJI, NUL, SCRIPT
from tests.factories import LotFactory, MadeLotFactory, MaterialFactory, SupplierFactory, WorkshopFactory

pytestmark = pytest.mark.django_db

LABELS, PDF = reverse("inventory:labels"), reverse("inventory:labels_pdf")


@pytest.fixture
def phone(maker, client_of) -> Client:
    return client_of(maker)


def labels_for(client: Client, *lots: Lot) -> bytes:
    answer = client.get(PDF, {"lot": [lot.pk for lot in lots]})
    assert answer["Content-Type"] == "application/pdf"
    return answer.content


def test_every_code_opens_its_own_lot(phone, tmp_path):
    lots = [LotFactory() for _ in range(11)]

    sheets = labels_for(phone, *lots)

    assert len(printed.read(sheets).pages) == 2
    found = printed.codes(sheets, tmp_path)
    assert len(found) == 11
    assert {phone.get(urlsplit(code).path, follow=True).context["lot"] for code in found} == set(lots)


def test_a_label_says_what_is_in_there(phone):
    today = timezone.localdate()
    material = MaterialFactory(name="Olive oil, golden")
    lot = LotFactory(
        material=material, place="shelf B2", best_before=today, supplier=SupplierFactory(name="Hill")
    )

    said = printed.words(labels_for(phone, lot))

    day = f"{today.day} {today:%b %Y}"
    for part in ("Olive oil, golden", lot.code, "Best before", "Hill", "shelf B2"):
        assert part in said
    assert said.count(day) == 2
    assert "Lye burns" not in said


@pytest.mark.parametrize("alkali", ["naoh", "koh"])
def test_the_label_of_lye_carries_the_caution(phone, alkali):
    said = printed.words(labels_for(phone, LotFactory(material=MaterialFactory(**{alkali: True}))))

    for part in ("Lye burns skin and eyes.", "Goggles, gloves", "children", "supplier’s own label"):
        assert part in said


def test_the_label_of_batter_kept_back_carries_a_caution_and_the_day_it_was_made(phone):
    said = printed.words(labels_for(phone, MadeLotFactory()))

    for part in ("Raw soap burns skin and eyes.", "Goggles, gloves", "children", "Made"):
        assert part in said
    assert "Came" not in said


@pytest.mark.parametrize("units", ["metric", "us"])
def test_names_of_any_length_and_kind_stay_on_their_label(phone, tmp_path, units):
    WorkshopFactory(units=units)
    material = MaterialFactory(name=f"Hydroxide {EMOJI} " + "pearls & <b>more</b> " * 3, naoh=True)
    for number in range(10):
        lot = LotFactory(material=material, place="W" * 40)
        Lot.objects.filter(pk=lot.pk).update(code=f"{number:W>40}")

    sheet = labels_for(phone, *Lot.objects.all())

    assert len(printed.read(sheet).pages) == 1
    assert len(printed.codes(sheet, tmp_path)) == 10


def test_a_delivery_has_labels_for_all_its_lots(phone, maker):
    lines = [ReceivedLine(MaterialFactory(), Decimal(500), Decimal(5)) for _ in range(3)]
    delivery = receive(
        supplier=SupplierFactory(), received_on=timezone.localdate(), lines=lines, key=uuid4(), by=maker
    )
    LotFactory()

    answer = phone.get(LABELS, {"delivery": delivery.pk})

    assert set(answer.context["lots"]) == set(delivery.lots.all())
    assert answer.content.decode().count("checked") == 3
    assert (
        f"{LABELS}?delivery={delivery.pk}" in phone.get(f"/stock/deliveries/{delivery.pk}/").content.decode()
    )


def test_the_page_of_a_lot_leads_to_its_label(phone):
    lot, _other = LotFactory(), LotFactory()
    address = f"{LABELS}?lot={lot.pk}"

    assert address in phone.get(reverse("inventory:lot", args=[lot.pk])).content.decode()
    assert phone.get(address).context["lots"] == [lot]


def test_unasked_the_lots_in_stock_are_offered_and_none_is_ticked(phone):
    lot, empty = LotFactory(), LotFactory()
    Lot.objects.filter(pk=empty.pk).update(on_hand=0)

    answer = phone.get(LABELS)

    assert answer.context["lots"] == [lot]
    assert "checked" not in answer.content.decode()


def test_the_page_says_which_address_the_codes_will_carry(phone, settings):
    LotFactory()
    assert "http://testserver" in phone.get(LABELS).content.decode()

    settings.PUBLIC_ADDRESS = "https://soap.example"
    assert "https://soap.example" in phone.get(LABELS).content.decode()


@pytest.mark.parametrize("asked", ["", "0", "-1", "9" * 400, "x", EMOJI, SCRIPT, NUL])
def test_a_question_for_nothing_leads_back_to_the_choice(phone, asked):
    assert phone.get(PDF, {"lot": asked}).url == LABELS
    assert phone.get(LABELS, {"lot": asked, "delivery": asked}).status_code == 200


def test_an_empty_stockroom_says_so(phone):
    assert "No lots to label" in phone.get(LABELS).content.decode()


def test_without_pango_the_page_says_how_to_install_it(phone, monkeypatch):
    def unavailable(*_args, **_kwargs):
        raise pdf.PdfUnavailable("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(pdf, "render_pdf", unavailable)
    answer = phone.get(PDF, {"lot": LotFactory().pk})

    assert answer.status_code == 503
    assert "libpango" in answer.content.decode()


def test_a_code_for_no_lot_is_not_found(phone):
    assert phone.get(reverse("inventory:find", args=[999])).status_code == 404


def test_the_lots_are_read_by_one_query(db, django_assert_num_queries):
    for _ in range(2):
        lot = LotFactory()
        with django_assert_num_queries(1):
            assert [str(each.delivery.supplier) for each in lots_to_label([lot.pk], delivery=None)]
