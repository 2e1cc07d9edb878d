"""Suppliers: who sells what the workshop uses."""

from __future__ import annotations

from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.translation import gettext, gettext_noop

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
    return _keep(Supplier(), fields, what=gettext_noop("added %(name)s"), by=by)


def update_supplier(*, supplier: Supplier, by: User, **fields: Unpack[SupplierFields]) -> Supplier:
    """Change a supplier, or put one away by `archived`."""
    return _keep(supplier, fields, what=gettext_noop("changed %(name)s"), by=by)


def _keep(supplier: Supplier, fields: SupplierFields, *, what: str, by: User) -> Supplier:
    require_maker(by)
    for name, value in fields.items():
        setattr(supplier, name, value)
    supplier.clean_fields()
    try:
        with transaction.atomic():
            supplier.save()
            record(by=by, subject=supplier, what=gettext(what) % {"name": supplier.name})
    except IntegrityError as clash:
        words = gettext("There is a supplier called %(name)s already.")
        raise ValidationError({"name": words % {"name": supplier.name}}) from clash
    return supplier
