"""Suppliers: who sells what the workshop uses."""

from __future__ import annotations

from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from inventory.models import Supplier
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record


class SupplierFields(TypedDict, total=False):
    name: str
    contact: str
    email: str
    phone: str
    website: str
    note: str
    archived: bool


def create_supplier(*, by: User, **fields: Unpack[SupplierFields]) -> Supplier:
    """Add a supplier. Raises ValidationError by field."""
    return _keep(Supplier(), fields, what="added", by=by)


def update_supplier(*, supplier: Supplier, by: User, **fields: Unpack[SupplierFields]) -> Supplier:
    """Change a supplier, or put one away by `archived`."""
    return _keep(supplier, fields, what="changed", by=by)


def _keep(supplier: Supplier, fields: SupplierFields, *, what: str, by: User) -> Supplier:
    require_maker(by)
    for name, value in fields.items():
        setattr(supplier, name, value)
    supplier.clean_fields()
    try:
        with transaction.atomic():
            supplier.save()
            record(by=by, subject=supplier, what=f"{what} {supplier.name}")
    except IntegrityError as clash:
        raise ValidationError({"name": f"There is a supplier called {supplier.name} already."}) from clash
    return supplier
