"""Certificates on the page of a fragrance, and the form for one."""

from datetime import date
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
from django.urls import reverse

from inventory.models import Certificate
from inventory.services.certificates import ListedSubstance
from soapshop.core.models import Document
from tests.bad_input import NO_NUMBERS, REFUSED_TEXTS, STRANGE_TEXTS
from tests.core.pictures import pdf, upload
from tests.factories import CertificateFactory, MaterialFactory, WorkshopFactory

pytestmark = pytest.mark.django_db

LINALOOL = ListedSubstance("Linalool", Decimal("31.25"), cas="78-70-6")
EUGENOL = ListedSubstance("Eugenol", Decimal(80), limit=Decimal("2.5"))


@pytest.fixture
def phone(client_of, maker, workshop):
    return client_of(maker)


@pytest.fixture
def lavender():
    return MaterialFactory(fragrance=True, name="Fen Lavender")


def material_page(client, material):
    return unescape(client.get(reverse("inventory:material", args=[material.pk])).content.decode())


def add(material):
    return reverse("inventory:certificate_add", args=[material.pk])


def edit(certificate):
    return reverse("inventory:certificate_edit", args=[certificate.pk])


def sent(*lines, **changed):
    """The form as a browser sends it."""
    data = {
        "key": str(uuid4()),
        "dated": "2026-05-04",
        "category": "9",
        "limit": "3,2 %",
        "lines": len(lines) or 1,
    }
    for place, line in enumerate(lines):
        data |= {f"line-{place}-{name}": value for name, value in line.items()}
    return data | changed


def words(response):
    return unescape(response.content.decode())


# On the page of the fragrance


def test_a_fragrance_without_one_says_so_and_offers_to_add_it(phone, lavender):
    page = material_page(phone, lavender)

    assert "nobody knows how much of it a bar may hold" in page
    assert add(lavender) in page


def test_other_materials_say_nothing_of_certificates(phone):
    assert 'id="certificate"' not in material_page(phone, MaterialFactory())


def test_the_page_shows_all_that_it_says(phone, lavender):
    CertificateFactory(
        material=lavender,
        dated=date(2026, 5, 4),
        standard="IFRA 51st Amendment",
        limit=Decimal("3.2"),
        vanillin=Decimal("0.5"),
        flash_point=Decimal(71),
        note="asked by mail",
        substances=[LINALOOL, EUGENOL],
        upload=upload(pdf(), "lavender.pdf"),
    )

    page = material_page(phone, lavender)

    for said in ["3.2 %", "9, IFRA 51st Amendment", "0.5 %", "71\xa0°C", "asked by mail", "31.25 %", "2.5 %"]:
        assert said in page
    assert reverse("core:document", args=[Document.objects.get().pk]) in page
    assert "On a bench or in batter hotter than 71\xa0°C it gives off vapour" in page
    assert "Common practice, no source." in page


def test_a_flash_point_is_in_the_units_of_the_workshop(phone, lavender):
    WorkshopFactory(units="us")
    CertificateFactory(material=lavender, flash_point=Decimal(60))

    assert "140\xa0°F" in material_page(phone, lavender)


def test_it_shows_little_where_little_is_stated(phone, lavender):
    CertificateFactory(material=lavender, limit=None)

    page = material_page(phone, lavender)

    assert "none stated" in page
    for absent in ["Flash point", "Vanillin in it", "vapour", "<table", "The document"]:
        assert absent not in page


def test_what_is_not_permitted_is_said(phone, lavender):
    CertificateFactory(material=lavender, limit=Decimal(0))

    assert "not permitted" in material_page(phone, lavender)


def test_a_limit_of_another_category_is_said_not_to_count(phone, lavender):
    CertificateFactory(material=lavender, category="4")

    assert "Its limit is for category 4." in material_page(phone, lavender)


def test_earlier_ones_are_folded_away_below_the_one_that_counts(phone, lavender):
    CertificateFactory(material=lavender, dated=date(2026, 5, 4), limit=Decimal("3.2"))
    old = CertificateFactory(material=lavender, dated=date(2024, 5, 4), limit=Decimal("7.7"), flash_point=60)

    page = material_page(phone, lavender)

    assert page.index("3.2 %") < page.index("Earlier certificates") < page.index("7.7 %")
    assert edit(old) in page
    assert "vapour" not in page


def test_a_viewer_sees_it_and_is_offered_no_change(client_of, viewer, workshop, lavender):
    certificate = CertificateFactory(material=lavender)
    CertificateFactory(material=lavender)

    page = material_page(client_of(viewer), lavender)

    assert "5 %" in page
    assert edit(certificate) not in page
    assert add(lavender) not in page


def test_the_page_asks_the_database_as_often_however_many_there_are(
    phone, lavender, django_assert_max_num_queries
):
    for _ in range(6):
        CertificateFactory(material=lavender, substances=[LINALOOL, EUGENOL], upload=upload(pdf(), "a.pdf"))

    with django_assert_max_num_queries(15):
        material_page(phone, lavender)


# The form


def test_a_certificate_is_added_with_its_lines_and_its_document(phone, lavender):
    lines = [
        {"name": "Linalool", "share": "31,25", "cas": "78-70-6"},
        {"name": "", "share": "", "limit": "", "cas": ""},
        {"name": "Eugenol", "share": "80", "limit": "2.5"},
        {"name": "Hay", "share": "0.1", "allergen": "on"},
    ]

    response = phone.post(add(lavender), sent(*lines, document=upload(pdf(), "lavender.pdf")))

    assert response["Location"] == reverse("inventory:material", args=[lavender.pk])
    certificate = Certificate.objects.get()
    assert (certificate.limit, certificate.document.name) == (Decimal("3.2"), "lavender.pdf")
    listed = {line.name: (line.share, line.limit, line.allergen) for line in certificate.substances.all()}
    assert listed == {
        "Linalool": (Decimal("31.25"), None, True),
        "Eugenol": (80, Decimal("2.5"), True),
        "Hay": (Decimal("0.1"), None, True),
    }


def test_all_names_of_the_list_of_allergens_are_offered(phone, lavender):
    page = words(phone.get(add(lavender)))

    assert page.count("<option value=") == 81
    assert '<option value="Lavandula Oil/Extract">' in page


def test_there_is_no_form_for_what_is_no_fragrance(phone):
    assert phone.get(add(MaterialFactory())).status_code == 404


def test_the_form_to_correct_one_shows_what_it_says(phone, lavender):
    certificate = CertificateFactory(
        material=lavender, substances=[LINALOOL], upload=upload(pdf(), "old.pdf"), limit=Decimal("3.2")
    )

    page = words(phone.get(edit(certificate)))

    assert 'value="3.2"' in page
    assert 'value="31.25"' in page
    assert "old.pdf is kept" in page


def test_a_correction_is_kept(phone, lavender):
    certificate = CertificateFactory(material=lavender, substances=[LINALOOL, EUGENOL])

    response = phone.post(edit(certificate), sent({"name": "Eugenol", "share": "70"}, limit=""))

    assert response.status_code == 302
    assert Certificate.objects.get().limit is None
    assert [line.share for line in Certificate.objects.get().substances.all()] == [70]


def test_one_is_removed_and_its_page_says_so(phone, lavender):
    certificate = CertificateFactory(material=lavender)

    response = phone.post(reverse("inventory:certificate_remove", args=[certificate.pk]), follow=True)

    assert "The certificate is removed." in words(response)
    assert not Certificate.objects.exists()


@pytest.mark.parametrize("button", [{"another": "1"}, {"without": "0"}])
def test_lines_come_and_go_without_script_and_keep_what_was_typed(phone, lavender, button):
    lines = [{"name": "Linalool", "share": "lots"}, {"name": "Eugenol", "share": "80"}]

    response = phone.post(add(lavender), sent(*lines, note="half written", **button))

    page = words(response)
    assert response.status_code == 200
    assert "half written" in page
    assert 'value="80"' in page
    assert ('value="lots"' in page) == ("another" in button)
    assert page.count('class="substance"') == (6 if "another" in button else 1)
    assert not Certificate.objects.exists()


def test_the_last_line_left_out_leaves_empty_ones(phone, lavender):
    page = words(phone.post(add(lavender), sent({"name": "Linalool"}, without="0")))

    assert page.count('class="substance"') == 4


def test_with_script_only_the_lines_are_swapped(phone, lavender):
    response = phone.post(add(lavender), sent(another="1"), headers={"hx-request": "true"})

    assert words(response).strip().startswith('<div id="lines"')


def test_there_is_an_end_to_the_lines(phone, lavender):
    page = words(phone.post(add(lavender), sent(lines="98", another="1")))

    assert page.count('class="substance"') == 100
    assert "More lines" not in page


@pytest.mark.parametrize("lines", ["", "-1", "0", "9999", "x", "٣"])
def test_a_count_of_lines_that_makes_no_sense_breaks_nothing(phone, lavender, lines):
    assert phone.post(add(lavender), sent(lines=lines)).status_code == 302


def test_a_file_that_is_chosen_and_lost_is_told_of(phone, lavender):
    response = phone.post(add(lavender), sent(limit="x", document=upload(pdf(), "a.pdf")))

    assert response.status_code == 422
    assert "Please choose it again." in words(response)


@pytest.mark.parametrize(
    ("document", "said"),
    [(b"Dear diary", "neither a PDF file nor a picture"), (pdf()[:-7], "its end is missing")],
)
def test_a_bad_document_is_said_beside_its_field(phone, lavender, document, said):
    response = phone.post(add(lavender), sent(note="typed", document=upload(document, "a.pdf")))

    assert response.status_code == 422
    assert said in words(response)
    assert "typed" in words(response)


def test_what_the_service_finds_wrong_with_a_line_is_said_beside_it(phone, lavender):
    lines = [{}, {"name": "Linalool", "share": "1"}, {"name": "linalool", "share": "2"}]

    response = phone.post(add(lavender), sent(*lines))

    assert response.status_code == 422
    assert "Line 3, substance" in words(response)
    assert "linalool stands here twice." in words(response)


def test_a_line_that_is_half_filled_in_is_asked_for_the_rest_and_an_empty_one_for_nothing(phone, lavender):
    response = phone.post(add(lavender), sent({"cas": "78-70-6"}, {"name": "", "share": ""}))

    assert response.status_code == 422
    assert words(response).count("Please fill this in.") == 4  # name and share, in the summary and beside


@pytest.mark.parametrize("bad", [*NO_NUMBERS[1:], "-1", "101"])
@pytest.mark.parametrize("field", ["limit", "vanillin", "line-0-share", "line-0-limit"])
def test_no_bad_figure_is_kept(phone, lavender, field, bad):
    line = {"name": "Linalool", "share": "1"}

    response = phone.post(add(lavender), sent(line) | {field: bad})

    assert response.status_code == 422
    assert not Certificate.objects.exists()


@pytest.mark.parametrize("field", ["standard", "category", "note", "line-0-name", "line-0-cas"])
@pytest.mark.parametrize("bad", REFUSED_TEXTS)
def test_no_text_that_cannot_be_stored_is_kept(phone, lavender, field, bad):
    response = phone.post(add(lavender), sent({"name": "Linalool", "share": "1"}) | {field: bad})

    assert response.status_code == 422
    assert not Certificate.objects.exists()


@pytest.mark.parametrize("strange", STRANGE_TEXTS)
def test_strange_names_are_kept_and_shown_as_they_are(phone, lavender, strange):
    phone.post(add(lavender), sent({"name": strange, "share": "1"}, note=strange))

    shown = phone.get(reverse("inventory:material", args=[lavender.pk])).content.decode()
    assert Certificate.objects.get().substances.get().name == strange
    assert "<script>alert" not in shown
    assert unescape(shown).count(strange) >= 2


@pytest.mark.parametrize("key", ["", "x", "1" * 400])
def test_a_form_without_its_key_is_asked_for_anew(phone, lavender, key):
    response = phone.post(add(lavender), sent(key=key))

    assert response.status_code == 422
    assert not Certificate.objects.exists()
