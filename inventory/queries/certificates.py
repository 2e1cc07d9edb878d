"""What is certified of fragrances."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from inventory.models import Certificate, Material


def current_certificates(materials: Iterable[int], day: date) -> dict[int, Certificate]:
    """By id of its material the certificate that counts on that day, with its substances. Two queries.

    A material without one is not among them.
    """
    dated = Certificate.objects.filter(material__in=materials).dated_by(day)
    newest: dict[int, Certificate] = {}
    for certificate in dated.select_related("material").prefetch_related("substances"):
        newest.setdefault(certificate.material_id, certificate)
    return newest


def certificates_of(material: Material) -> list[Certificate]:
    """All of a material, the newest first, with what they list and their documents."""
    found = Certificate.objects.filter(material=material).select_related("material", "document__photo")
    return list(found.prefetch_related("substances"))
