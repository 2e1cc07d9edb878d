"""Certificates of fragrances: adding one, correcting it, removing one that was written down by mistake."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, TypedDict, Unpack
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext

from inventory.models import Certificate, Kind, Material, Substance
from shared.allergens import fits_as_cas, label_name
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.documents import forget_document, store_document
from soapshop.core.services.history import record

COLDEST_FLASH, HOTTEST_FLASH = Decimal(-50), Decimal(300)
"""°C between which a flash point is believed: common practice, no source."""


class CertificateFields(TypedDict, total=False):
    """What a certificate says: limit in % of the finished product, vanillin in %, flash point in °C."""

    dated: date
    standard: str
    category: str
    limit: Decimal | None
    vanillin: Decimal | None
    flash_point: Decimal | None
    note: str


@dataclass(frozen=True, slots=True)
class ListedSubstance:
    """A line of a certificate: share in % of the fragrance, limit in % of the finished product."""

    name: str
    share: Decimal
    limit: Decimal | None = None
    allergen: bool = False
    cas: str = ""


class SubstanceError(ValidationError):
    """What is wrong with one line: `index` counts from 0, `message_dict` names the fields."""

    def __init__(self, index: int, problems: dict[str, str]) -> None:
        self.index = index
        super().__init__(problems)


@transaction.atomic
def add_certificate(
    *,
    material: Material,
    substances: Sequence[ListedSubstance],
    key: UUID,
    by: User,
    upload: UploadedFile[Any] | None = None,
    **fields: Unpack[CertificateFields],
) -> Certificate:
    """Write a certificate of a fragrance down. The same key again returns the first one.

    Raises SubstanceError for a line that cannot stand, ValidationError by field for the rest.
    """
    require_maker(by)
    list(Material.objects.select_for_update().filter(pk=material.pk))
    if done := Certificate.objects.filter(key=key).first():
        return done
    if material.kind != Kind.FRAGRANCE:
        raise ValidationError(gettext("Only a fragrance or essential oil has such a certificate."))
    certificate = Certificate(material=material, key=key, added_by=by)
    _keep(certificate, fields, substances, upload, by)
    words = gettext("added a certificate of %(day)s to %(name)s")
    record(by=by, subject=material, what=words % _named(certificate))
    return certificate


@transaction.atomic
def correct_certificate(
    *,
    certificate: Certificate,
    substances: Sequence[ListedSubstance],
    by: User,
    upload: UploadedFile[Any] | None = None,
    **fields: Unpack[CertificateFields],
) -> Certificate:
    """Put right what was written down of a certificate; a file that is sent takes the place of the first.

    Batches that were poured keep what they were poured with. Raises as `add_certificate` does.
    """
    require_maker(by)
    before, replaced = _told(certificate), certificate.document if upload else None
    _keep(certificate, fields, substances, upload, by)
    if replaced:
        forget_document(document=replaced, by=by)
    after = _told(certificate)
    changed = {name: [old, after[name]] for name, old in before.items() if old != after[name]}
    words = gettext("corrected the certificate of %(day)s of %(name)s")
    record(by=by, subject=certificate.material, what=words % _named(certificate), detail=changed)
    return certificate


@transaction.atomic
def remove_certificate(*, certificate: Certificate, by: User) -> None:
    """Take out a certificate that was written down by mistake. History keeps what it said."""
    require_maker(by)
    told, document = _told(certificate), certificate.document
    words = gettext("removed the certificate of %(day)s from %(name)s")
    detail = {name: [old, ""] for name, old in told.items() if old}
    record(by=by, subject=certificate.material, what=words % _named(certificate), detail=detail)
    certificate.delete()
    if document:
        forget_document(document=document, by=by)


def _keep(
    certificate: Certificate,
    fields: CertificateFields,
    substances: Sequence[ListedSubstance],
    upload: UploadedFile[Any] | None,
    by: User,
) -> None:
    for name, value in fields.items():
        setattr(certificate, name, value)
    _check(certificate)
    lines = _lines(certificate, substances)
    if upload:
        try:
            certificate.document = store_document(upload=upload, by=by)
        except ValidationError as error:
            raise ValidationError({"document": error.messages}) from error
    certificate.save()
    certificate.substances.all().delete()
    for line in lines:
        line.certificate = certificate
    Substance.objects.bulk_create(lines)


def _check(certificate: Certificate) -> None:
    """Raise ValidationError by field for what no certificate says."""
    certificate.clean_fields(exclude=["material", "document", "added_by"])
    problems = {}
    for name in ("limit", "vanillin"):
        if _no_share(getattr(certificate, name)):
            problems[name] = gettext("A share lies between 0 and 100 %.")
    flash_point = certificate.flash_point
    if flash_point is not None and not COLDEST_FLASH <= flash_point <= HOTTEST_FLASH:
        problems["flash_point"] = gettext("A flash point lies between -50 and 300 °C.")
    if certificate.dated > timezone.localdate():
        problems["dated"] = gettext("That day has not come yet.")
    if problems:
        raise ValidationError(problems)


def _lines(certificate: Certificate, substances: Sequence[ListedSubstance]) -> list[Substance]:
    """The lines as rows. Raises SubstanceError for the first that cannot stand."""
    lines: list[Substance] = []
    taken: set[str] = set()
    for index, listed in enumerate(substances):
        line = Substance(
            name=listed.name.strip(),
            cas=listed.cas.strip(),
            share=listed.share,
            limit=listed.limit,
            allergen=listed.allergen or bool(label_name(listed.name, listed.cas)),
        )
        if problems := _line_problems(line, taken):
            raise SubstanceError(index, problems)
        taken.add(line.name.casefold())
        lines.append(line)
    return lines


def _line_problems(line: Substance, taken: set[str]) -> dict[str, str]:
    try:
        line.clean_fields(exclude=["certificate"])
    except ValidationError as error:
        return {name: messages[0] for name, messages in error.message_dict.items()}
    problems = {}
    if line.name.casefold() in taken:
        problems["name"] = gettext("%(name)s stands here twice.") % {"name": line.name}
    if line.cas and not fits_as_cas(line.cas):
        problems["cas"] = gettext(
            "This is no CAS number: one looks like 78-70-6, and its last digit checks it."
        )
    if not 0 < line.share <= 100:
        problems["share"] = gettext("A share lies above 0 and up to 100 %.")
    if _no_share(line.limit):
        problems["limit"] = gettext("A limit lies between 0 and 100 %.")
    return problems


def _no_share(value: Decimal | None) -> bool:
    return value is not None and not 0 <= value <= 100


def _named(certificate: Certificate) -> dict[str, str]:
    return {"day": date_format(certificate.dated), "name": certificate.material.name}


def _told(certificate: Certificate) -> dict[str, str]:
    """What it says, for the history."""
    stored = Certificate.objects.get(pk=certificate.pk)
    lines = [
        f"{line.name} {line.share.normalize():f} %"
        + ("" if line.limit is None else f", limit {line.limit.normalize():f} %")
        for line in stored.substances.all()
    ]
    facts = {name: getattr(stored, name) for name in CertificateFields.__annotations__}
    return {
        **{name: "" if value is None else str(value) for name, value in facts.items()},
        "substances": "; ".join(lines),
        "document": str(stored.document or ""),
    }
