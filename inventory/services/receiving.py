"""A delivery: what a supplier brought becomes lots with their first movement."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from functools import reduce
from operator import or_
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext, ngettext

from inventory.models import Delivery, Kind, Lot, Material, Movement, Supplier
from inventory.services.ledger import amount, give
from inventory.services.lots import certificate_problems, stock_problems
from soapshop.core.access import require_maker
from soapshop.core.models import User, Workshop
from soapshop.core.services.history import record


@dataclass(frozen=True, slots=True)
class ReceivedLine:
    """One container. `quantity` in grams or pieces, `cost` for all of it in the workshop's currency.

    `sap` (mg KOH/g) and `purity` (% m/m) are what the supplier's certificate says, each with its uncertainty.
    A blank `code` is filled in.
    """

    material: Material
    quantity: Decimal
    cost: Decimal
    code: str = ""
    supplier_code: str = ""
    best_before: date | None = None
    place: str = ""
    sap: Decimal | None = None
    sap_uncertainty: Decimal | None = None
    purity: Decimal | None = None
    purity_uncertainty: Decimal | None = None
    note: str = ""


class LineError(ValidationError):
    """What is wrong with one line of a delivery: `index` counts from 0, `message_dict` names the fields."""

    def __init__(self, index: int, problems: dict[str, str]) -> None:
        self.index = index
        super().__init__(problems)


def receive(
    *,
    supplier: Supplier,
    received_on: date,
    lines: Sequence[ReceivedLine],
    key: UUID,
    by: User,
    reference: str = "",
) -> Delivery:
    """Put a delivery on the shelf: one lot a line. The same key again returns the first delivery.

    Raises LineError for a line that cannot stand, ValidationError for the delivery as a whole.
    """
    require_maker(by)
    if not lines:
        raise ValidationError(gettext("A delivery needs at least one line."))
    if received_on > timezone.localdate():
        raise ValidationError({"received_on": gettext("That day has not come yet.")})
    with transaction.atomic():
        one_lot_at_a_time()
        if done := Delivery.objects.filter(key=key).first():
            return done
        codes = _codes(lines)
        delivery = Delivery.objects.create(
            supplier=supplier, received_on=received_on, reference=reference, key=key, by=by
        )
        for position, (line, code) in enumerate(zip(lines, codes, strict=True)):
            _check(position, line, received_on)
            _shelve(delivery, line, code, by)
        words = ngettext(
            "received %(lots)d lot from %(supplier)s", "received %(lots)d lots from %(supplier)s", len(lines)
        )
        record(by=by, subject=delivery, what=words % {"lots": len(lines), "supplier": supplier})
        return delivery


def next_lot_codes(materials: Sequence[Material], taken: Iterable[str] = ()) -> list[str]:
    """An unused code for each: the material's initials and the next number, as in CO-0312. One query."""
    prefixes = [initials(material.name) for material in materials]
    used = Lot.objects.filter(
        reduce(or_, (Q(code__startswith=f"{prefix}-") for prefix in prefixes), Q(pk=None))
    )
    last: dict[str, int] = {}
    for code in [*used.values_list("code", flat=True), *taken]:
        prefix, _, number = code.rpartition("-")
        if number.isascii() and number.isdecimal() and len(number) < 10:
            last[prefix] = max(last.get(prefix, 0), int(number))
    codes = []
    for prefix in prefixes:
        last[prefix] = last.get(prefix, 0) + 1
        codes.append(f"{prefix}-{last[prefix]:04d}")
    return codes


def initials(name: str) -> str:
    """Two letters for a name: 'Coconut oil' gives CO, 'Shea' gives SH; LO where there are none."""
    words: list[str] = re.findall(r"[A-Za-z]+", name)
    if len(words) > 1:
        return (words[0][0] + words[1][0]).upper()
    return words[0][:2].upper() if words else "LO"


def one_lot_at_a_time() -> None:
    """Two people who make lots at the same moment must not be given the same code."""
    list(Workshop.objects.select_for_update())


def _codes(lines: Sequence[ReceivedLine]) -> list[str]:
    """The code of each line, typed or given out. Raises LineError for one that exists."""
    typed = [line.code.strip() for line in lines]
    existing = set(Lot.objects.filter(code__in=typed).values_list("code", flat=True))
    for position, code in enumerate(typed):
        if code and (code in existing or code in typed[:position]):
            raise LineError(position, {"code": gettext("There is a lot %(code)s already.") % {"code": code}})
    given_out = iter(next_lot_codes([line.material for line in lines if not line.code.strip()], typed))
    return [code or next(given_out) for code in typed]


def _check(position: int, line: ReceivedLine, received_on: date) -> None:
    """Raise LineError for what a lot cannot be."""
    problems = stock_problems(line.material, line.quantity, line.cost)
    if line.material.kind == Kind.BATTER:
        problems["material"] = gettext("Batter kept back comes from a pour, not from a supplier.")
    if line.best_before and line.best_before < received_on:
        problems["best_before"] = gettext("It was past its best-before on the day it came. Send it back.")
    problems |= certificate_problems(
        line.material, line.sap, line.sap_uncertainty, line.purity, line.purity_uncertainty
    )
    if problems:
        raise LineError(position, problems)


def _shelve(delivery: Delivery, line: ReceivedLine, code: str, by: User) -> Lot:
    """Make the lot and book what it holds."""
    lot = Lot.objects.create(
        material=line.material,
        delivery=delivery,
        code=code,
        supplier_code=line.supplier_code,
        received_on=delivery.received_on,
        best_before=line.best_before,
        place=line.place,
        quantity=amount(line.quantity),
        cost=line.cost,
        sap=line.sap,
        sap_uncertainty=None if line.sap is None else line.sap_uncertainty,
        purity=line.purity,
        purity_uncertainty=None if line.purity is None else line.purity_uncertainty,
        note=line.note,
    )
    give(
        lot=lot,
        quantity=line.quantity,
        kind=Movement.Kind.RECEIVED,
        key=f"received {lot.pk}",
        by=by,
        document=delivery.reference,
        at=_arrival(delivery.received_on),
    )
    return lot


def _arrival(day: date) -> datetime | None:
    """When a delivery written down on a later day counts from: noon of its own. None for today's: now."""
    if day == timezone.localdate():
        return None
    return timezone.make_aware(datetime.combine(day, time(12)))
