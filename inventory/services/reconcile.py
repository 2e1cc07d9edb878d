"""Does every balance equal the sum of its movements?"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import DecimalField, F, Sum, Value
from django.db.models.functions import Coalesce, Round

from inventory.models import Lot


@dataclass(frozen=True, slots=True)
class Discrepancy:
    """A lot whose balance and ledger disagree."""

    code: str
    on_hand: Decimal
    moved: Decimal


def reconcile() -> list[Discrepancy]:
    """Every lot whose balance is not the sum of its movements; empty when the books are right."""
    amounts: DecimalField[Decimal, Decimal] = DecimalField(max_digits=14, decimal_places=2)
    moved = Coalesce(Sum("movements__quantity"), Value(Decimal(0)), output_field=amounts)
    lots = Lot.objects.annotate(moved=Round(moved, precision=2)).exclude(on_hand=F("moved")).order_by("code")
    return [Discrepancy(*row) for row in lots.values_list("code", "on_hand", "moved")]
