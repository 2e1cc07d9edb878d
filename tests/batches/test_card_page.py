from io import BytesIO
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from pypdf import PdfReader

from batches.services.jugs import leave_out
from batches.services.pour import pour
from soapshop.core import pdf
from soapshop.core.services.photos import store_photo
from tests.batches.bench import bench
from tests.batches.split import jug, planned, split_bench
from tests.core.pictures import jpeg, upload
from tests.factories import WorkshopFactory

pytestmark = pytest.mark.django_db

# ISO 216 A4 and ANSI/ASME Y14.1 size A, in points of 1/72 inch.
A4 = pytest.approx((595.28, 841.89), abs=0.5)
LETTER = pytest.approx((612, 792), abs=0.5)


def card(client, batch) -> PdfReader:
    answer = client.get(reverse("batches:card", args=[batch.pk]))
    assert answer["Content-Type"] == "application/pdf"
    return PdfReader(BytesIO(answer.content))


def words(reader: PdfReader) -> str:
    return " ".join(page.extract_text() for page in reader.pages)


def test_the_card_fits_one_page_and_lists_every_weight(client_of):
    shop = bench()

    printed = card(client_of(shop.maker), shop.plan())

    assert len(printed.pages) == 1
    for part in ("Four oils", "26-0001", "Olive oil", "450", "Lye", "143", "Lye burns"):
        assert part in words(printed)


def test_the_card_of_a_poured_batch_names_the_lots(client_of):
    shop = bench()
    batch = pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True)

    assert shop.lots["Olive oil"].code in words(card(client_of(shop.maker), batch))


def test_each_jug_stands_on_the_card_with_what_goes_in_and_where_it_goes(client_of):
    shop = split_bench()
    batch = planned(shop)

    printed = " ".join(words(card(client_of(shop.maker), batch)).split())

    assert f"Jugs of {batch.code}" in printed
    assert "Dark this mould, layer 430 g" in printed
    assert "stir in Coal 3 g" in printed
    assert "Kept kept back 143 g" in printed


def test_what_was_taken_stands_beside_what_was_planned_and_a_lot_once(client_of):
    shop = split_bench()
    batch = planned(shop)
    leave_out(jug=jug(batch, "Green"), by=shop.maker)
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    printed = " ".join(words(card(client_of(shop.maker), batch)).split())

    assert "left out" in printed
    assert "stir in Leaf" not in printed
    assert printed.count(shop.lots["Scent"].code) == 1


def test_a_cut_off_photo_is_still_refused_after_a_card_was_printed(client_of):
    shop = bench()
    card(client_of(shop.maker), shop.plan())

    with pytest.raises(ValidationError):
        store_photo(upload=upload(jpeg()[:-400]), by=shop.maker)


@pytest.mark.parametrize(("units", "paper"), [("metric", A4), ("us", LETTER)])
def test_the_paper_follows_the_units_of_the_workshop(client_of, units, paper):
    shop = bench()
    WorkshopFactory(units=units)

    box = card(client_of(shop.maker), shop.plan()).pages[0].mediabox

    assert (float(box.width), float(box.height)) == paper


def test_without_pango_the_page_says_how_to_install_it(client_of, monkeypatch):
    shop = bench()

    def unavailable(*_args, **_kwargs):
        raise pdf.PdfUnavailable("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr("soapshop.core.pdf.render_pdf", unavailable)
    answer = client_of(shop.maker).get(reverse("batches:card", args=[shop.plan().pk]))

    assert answer.status_code == 503
    assert "libpango" in answer.content.decode()


def test_a_batch_that_is_not_there_has_no_card(client_of, maker):
    assert client_of(maker).get(reverse("batches:card", args=[999])).status_code == 404
