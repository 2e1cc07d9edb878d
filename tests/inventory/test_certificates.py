"""Certificates of fragrances: what the services keep and refuse, and which one counts."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError
from django.utils import timezone

from inventory.models import Certificate, Substance
from inventory.queries import certificates_of, current_certificates
from inventory.services.certificates import (
    ListedSubstance,
    SubstanceError,
    add_certificate,
    correct_certificate,
    remove_certificate,
)
from shared import fragrance
from soapshop.core.models import Document
from soapshop.core.queries import history_of
from tests.core.pictures import jpeg, pdf, upload
from tests.factories import CertificateFactory, MaterialFactory

pytestmark = pytest.mark.django_db

LINALOOL = ListedSubstance("Linalool", Decimal("31.25"), allergen=True, cas="78-70-6")
EUGENOL = ListedSubstance("eugenol", Decimal("0.0005"), limit=Decimal("2.5"))
DAY = date(2026, 5, 4)


@pytest.fixture
def lavender():
    return MaterialFactory(fragrance=True, name="Fen Lavender")


# What is written down


def test_a_certificate_is_kept_with_what_it_lists(lavender, maker):
    certificate = add_certificate(
        material=lavender,
        dated=DAY,
        standard="IFRA 51st Amendment",
        limit=Decimal("3.2"),
        vanillin=Decimal("0.5"),
        flash_point=Decimal("71.5"),
        note="by post",
        substances=[LINALOOL, EUGENOL],
        upload=upload(pdf(), "lavender.pdf"),
        key=uuid4(),
        by=maker,
    )

    assert (certificate.material, certificate.added_by, certificate.category) == (lavender, maker, "9")
    assert certificate.document.name == "lavender.pdf"
    lines = [
        (each.name, each.share, each.limit, each.allergen, each.cas) for each in certificate.substances.all()
    ]
    assert lines == [
        ("Linalool", Decimal("31.25"), None, True, "78-70-6"),
        ("eugenol", Decimal("0.0005"), Decimal("2.5"), True, ""),
    ]
    assert history_of(lavender)[0].what == "added a certificate of 4 May 2026 to Fen Lavender"
    assert str(certificate) == "certificate of 04 May 2026"
    assert [str(line) for line in certificate.substances.all()] == ["Linalool", "eugenol"]


def test_a_substance_in_the_list_of_allergens_is_one_whatever_was_ticked(lavender):
    lines = [
        ListedSubstance("d-limonene", Decimal(1)),
        ListedSubstance("Other name", Decimal(1), cas="106-24-1"),
        ListedSubstance("Musk", Decimal(1)),
        ListedSubstance("Hay", Decimal(1), allergen=True),
    ]

    certificate = CertificateFactory(material=lavender, substances=lines)

    allergens = {line.name for line in certificate.substances.all() if line.allergen}
    assert allergens == {"d-limonene", "Other name", "Hay"}


def test_the_same_form_sent_twice_counts_once(lavender):
    key = uuid4()

    assert CertificateFactory(material=lavender, key=key) == CertificateFactory(material=lavender, key=key)
    assert Certificate.objects.count() == 1


def test_correcting_changes_what_is_said_and_history_tells_both(lavender, maker):
    certificate = CertificateFactory(material=lavender, dated=DAY, substances=[LINALOOL])

    correct_certificate(certificate=certificate, limit=Decimal("2.4"), substances=[EUGENOL], by=maker)

    assert [line.name for line in certificate.substances.all()] == ["eugenol"]
    line = history_of(lavender)[0]
    assert line.what == "corrected the certificate of 4 May 2026 of Fen Lavender"
    assert line.detail == {
        "limit": ["5.0000", "2.4000"],
        "substances": ["Linalool 31.25 %", "eugenol 0.0005 %, limit 2.5 %"],
    }


@pytest.mark.parametrize("content", [pdf("new"), jpeg()], ids=["pdf", "picture"])
def test_another_document_takes_the_place_of_the_first(lavender, maker, content):
    certificate = CertificateFactory(material=lavender, upload=upload(pdf(), "old.pdf"))

    correct_certificate(certificate=certificate, substances=[], upload=upload(content, "new"), by=maker)

    assert [document.name for document in Document.objects.all()] == ["new"]
    assert history_of(lavender)[0].detail == {"document": ["old.pdf", "new"]}


def test_correcting_without_a_file_keeps_the_document(lavender, maker):
    certificate = CertificateFactory(material=lavender, upload=upload(pdf(), "old.pdf"))

    correct_certificate(certificate=certificate, substances=[], note="seen", by=maker)

    assert Certificate.objects.get().document.name == "old.pdf"


@pytest.mark.parametrize("sent", [None, upload(pdf(), "old.pdf")], ids=["alone", "with its document"])
def test_removing_takes_all_of_it_out_and_history_keeps_what_it_said(lavender, maker, sent):
    certificate = CertificateFactory(material=lavender, dated=DAY, substances=[LINALOOL], upload=sent)

    remove_certificate(certificate=certificate, by=maker)

    assert not Certificate.objects.exists()
    assert not Substance.objects.exists()
    assert not Document.objects.exists()
    line = history_of(lavender)[0]
    assert line.what == "removed the certificate of 4 May 2026 from Fen Lavender"
    assert line.detail["limit"] == ["5.0000", ""]
    assert line.detail["substances"] == ["Linalool 31.25 %", ""]


# What is refused


def test_only_a_fragrance_has_one():
    with pytest.raises(ValidationError, match="Only a fragrance"):
        CertificateFactory(material=MaterialFactory())


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"limit": Decimal("-0.1")}, "limit"),
        ({"limit": Decimal("100.1")}, "limit"),
        ({"limit": Decimal("NaN")}, "limit"),
        ({"limit": Decimal("0.00001")}, "limit"),
        ({"vanillin": Decimal(101)}, "vanillin"),
        ({"vanillin": Decimal(-1)}, "vanillin"),
        ({"flash_point": Decimal(-51)}, "flash_point"),
        ({"flash_point": Decimal(301)}, "flash_point"),
        ({"dated": date(2999, 1, 1)}, "dated"),
        ({"dated": timezone.localdate() + timedelta(days=2)}, "dated"),
        ({"category": ""}, "category"),
        ({"category": "x" * 21}, "category"),
        ({"standard": "x" * 61}, "standard"),
        ({"upload": upload(b"Dear diary")}, "document"),
    ],
)
def test_what_no_certificate_says_is_refused_by_field(said, field):
    with pytest.raises(ValidationError) as refused:
        CertificateFactory(**said)

    assert list(refused.value.message_dict) == [field]
    assert not Certificate.objects.exists()


@pytest.mark.parametrize(
    ("line", "field"),
    [
        (ListedSubstance("", Decimal(1)), "name"),
        (ListedSubstance(" LINALOOL ", Decimal(1)), "name"),
        (ListedSubstance("x" * 121, Decimal(1)), "name"),
        (ListedSubstance("Musk", Decimal(0)), "share"),
        (ListedSubstance("Musk", Decimal(-1)), "share"),
        (ListedSubstance("Musk", Decimal("100.1")), "share"),
        (ListedSubstance("Musk", Decimal("NaN")), "share"),
        (ListedSubstance("Musk", Decimal(1), limit=Decimal(-1)), "limit"),
        (ListedSubstance("Musk", Decimal(1), limit=Decimal(101)), "limit"),
        (ListedSubstance("Musk", Decimal(1), cas="78-70-7"), "cas"),
        (ListedSubstance("Musk", Decimal(1), cas="78706"), "cas"),
    ],
)
def test_a_line_that_cannot_stand_is_refused_with_its_place(line, field):
    with pytest.raises(SubstanceError) as refused:
        CertificateFactory(substances=[LINALOOL, line])

    assert (refused.value.index, list(refused.value.message_dict)) == (1, [field])
    assert not Certificate.objects.exists()


def test_a_correction_that_is_refused_changes_nothing(lavender, maker):
    certificate = CertificateFactory(
        material=lavender, substances=[LINALOOL], upload=upload(pdf(), "old.pdf")
    )

    with pytest.raises(SubstanceError):
        correct_certificate(
            certificate=certificate, limit=Decimal(1), substances=[LINALOOL, LINALOOL], by=maker
        )
    with pytest.raises(ValidationError):
        correct_certificate(certificate=certificate, substances=[], upload=upload(b"Dear diary"), by=maker)

    stored = Certificate.objects.get()
    assert (stored.limit, stored.document.name, stored.substances.count()) == (5, "old.pdf", 1)


def test_a_viewer_writes_nothing_down(lavender, viewer):
    certificate = CertificateFactory(material=lavender)

    with pytest.raises(PermissionDenied):
        CertificateFactory(material=lavender, by=viewer)
    with pytest.raises(PermissionDenied):
        correct_certificate(certificate=certificate, substances=[], by=viewer)
    with pytest.raises(PermissionDenied):
        remove_certificate(certificate=certificate, by=viewer)
    assert Certificate.objects.count() == 1


@pytest.mark.parametrize("wrong", [{"limit": 101}, {"limit": -1}, {"vanillin": 101}])
def test_the_database_refuses_shares_that_are_none(wrong):
    certificate = CertificateFactory()

    with pytest.raises(IntegrityError):
        Certificate.objects.filter(pk=certificate.pk).update(**wrong)


@pytest.mark.parametrize("wrong", [{"share": 0}, {"share": 101}, {"limit": 101}, {"name": "Eugenol"}])
def test_the_database_refuses_a_line_that_cannot_stand(wrong):
    certificate = CertificateFactory(substances=[LINALOOL, EUGENOL])

    with pytest.raises(IntegrityError):
        certificate.substances.filter(name="Linalool").update(**wrong)


# Which one counts


def test_the_one_dated_last_counts_and_of_one_day_the_one_added_last(lavender):
    mint = MaterialFactory(fragrance=True)
    old = CertificateFactory(material=lavender, dated=date(2024, 1, 1))
    first = CertificateFactory(material=lavender, dated=DAY)
    second = CertificateFactory(material=lavender, dated=DAY)
    of_mint = CertificateFactory(material=mint, dated=DAY)
    older = CertificateFactory(material=lavender, dated=date(2023, 1, 1))

    materials = [lavender.pk, mint.pk, MaterialFactory(fragrance=True).pk]

    assert current_certificates(materials, DAY) == {lavender.pk: second, mint.pk: of_mint}
    assert current_certificates(materials, date(2026, 5, 3)) == {lavender.pk: old}
    assert current_certificates(materials, date(2022, 1, 1)) == {}
    assert certificates_of(lavender) == [second, first, old, older]


def test_it_takes_two_queries_however_many_there_are(django_assert_num_queries):
    certificates = [CertificateFactory(substances=[LINALOOL, EUGENOL]) for _ in range(4)]
    materials = [each.material_id for each in certificates]

    with django_assert_num_queries(2):
        found = current_certificates(materials, timezone.localdate())
        assert [len(each.certified.substances) for each in found.values()] == [2, 2, 2, 2]


# In words of the calculations


def test_a_certificate_is_put_into_words_of_the_calculations(lavender):
    certificate = CertificateFactory(
        material=lavender, limit=Decimal("3.2"), vanillin=Decimal("0.5"), substances=[LINALOOL, EUGENOL]
    )

    assert Certificate.objects.get(pk=certificate.pk).certified == fragrance.Certified(
        "Fen Lavender",
        3.2,
        0.5,
        (
            fragrance.Substance("Linalool", 31.25, None, True, "78-70-6"),
            fragrance.Substance("eugenol", 0.0005, 2.5, True),
        ),
    )


def test_what_is_not_stated_is_not_known(lavender):
    assert CertificateFactory(material=lavender, limit=None).certified == fragrance.Certified("Fen Lavender")


@pytest.mark.parametrize(
    ("category", "limit"),
    [
        ("9", 5),
        (" Category 9 ", 5),
        ("cat. 9", 5),
        ("9A", None),
        ("4", None),
        ("Class 9", None),
        ("19", None),
    ],
)
def test_a_limit_of_another_category_is_none_for_bar_soap(category, limit):
    """Older standards had other classes, 9A among them; their figures cannot be read across."""
    assert CertificateFactory(category=category).certified.limit == limit
