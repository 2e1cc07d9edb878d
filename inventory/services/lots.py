"""What is written on a lot: where it stands, how long it keeps, what its certificate says."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext

from inventory.models import Kind, Lot, Material
from inventory.services.ledger import amount
from shared.chemistry import AlkaliKind
from shared.heat import REFERENCE_CELSIUS, max_concentration
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record
from soapshop.core.words import with_decimal_sign

SAP_MOST = Decimal(700)


class LotFields(TypedDict, total=False):
    """What of a lot may be changed after it came. Stock is changed through the ledger only."""

    supplier_code: str
    best_before: date | None
    place: str
    cost: Decimal
    sap: Decimal | None
    sap_uncertainty: Decimal | None
    purity: Decimal | None
    purity_uncertainty: Decimal | None
    note: str


def update_lot(*, lot: Lot, by: User, **fields: Unpack[LotFields]) -> Lot:
    """Change what is written on a lot. Raises ValidationError by field."""
    require_maker(by)
    before = {name: str(getattr(lot, name)) for name in fields}
    for name, value in fields.items():
        setattr(lot, name, value)
    if lot.sap is None:
        lot.sap_uncertainty = None
    if lot.purity is None:
        lot.purity_uncertainty = None
    problems = certificate_problems(
        lot.material, lot.sap, lot.sap_uncertainty, lot.purity, lot.purity_uncertainty
    )
    if not lot.cost.is_finite() or lot.cost < 0:
        problems["cost"] = gettext("A price cannot be below zero.")
    if problems:
        raise ValidationError(problems)
    changed = {
        name: [old, str(getattr(lot, name))] for name, old in before.items() if old != str(getattr(lot, name))
    }
    with transaction.atomic():
        lot.save(update_fields=[*fields, "sap_uncertainty", "purity_uncertainty"])
        if changed:
            record(
                by=by, subject=lot, what=gettext("changed lot %(lot)s") % {"lot": lot.code}, detail=changed
            )
    return lot


def stock_problems(material: Material, quantity: Decimal, cost: Decimal) -> dict[str, str]:
    """What is wrong with the quantity (grams or pieces) and the cost of a new lot, by field; else empty."""
    problems: dict[str, str] = {}
    try:
        amount(quantity)
    except ValidationError as problem:
        problems["quantity"] = problem.messages[0]
    if material.counted and quantity != quantity.to_integral_value():
        problems["quantity"] = gettext("%(material)s is counted in whole pieces.") % {"material": material}
    if not cost.is_finite() or cost < 0:
        problems["cost"] = gettext("A price cannot be below zero.")
    return problems


def certificate_problems(
    material: Material,
    sap: Decimal | None,
    sap_uncertainty: Decimal | None,
    purity: Decimal | None,
    purity_uncertainty: Decimal | None,
) -> dict[str, str]:
    """What is wrong with a certificate's values for that material, by field; empty where all is well.

    Saponification value in mg KOH/g, purity in % m/m.
    """
    problems: dict[str, str] = {}
    if sap is not None:
        if material.kind != Kind.FAT:
            problems["sap"] = gettext("Only a fat has a saponification value.")
        elif not 0 < sap <= SAP_MOST:
            problems["sap"] = gettext("A saponification value lies between 0 and 700 mg KOH/g.")
        elif sap_uncertainty is None or not 0 <= sap_uncertainty < sap:
            problems["sap_uncertainty"] = gettext("Say how far off the value may be, in mg KOH/g.")
    if purity is not None:
        if material.kind != Kind.ALKALI:
            problems["purity"] = gettext("Only an alkali has a purity.")
        elif not 0 < purity <= 100:
            problems["purity"] = gettext("A purity lies between 0 and 100 %.")
        elif purity_uncertainty is None or not 0 <= purity_uncertainty < purity:
            problems["purity_uncertainty"] = gettext("Say how far off the purity may be, in per cent.")
        elif words := too_strong(material, purity + purity_uncertainty):
            problems["purity"] = words
    return problems


def too_strong(material: Material, strength: Decimal) -> str:
    """Why a ready-made lye solution cannot be so strong, in % m/m; empty where it can, or is none."""
    if not material.dissolved or not material.alkali:
        return ""
    most = max_concentration(AlkaliKind(material.alkali))
    if strength <= Decimal(most):
        return ""
    words = gettext("No more than %(most)s %% of it stays dissolved at %(celsius)s °C.")
    return words % {"most": with_decimal_sign(f"{most:.1f}"), "celsius": f"{REFERENCE_CELSIUS:g}"}
