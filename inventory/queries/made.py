"""What a lot that was made here is made of, down to what was bought."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Lot, LotPart


@dataclass(frozen=True, slots=True)
class MadeOf:
    """A part of a lot, and what that part is made of in its turn."""

    part: LotPart
    within: list[LotPart]


def parts_of(lots: Iterable[int]) -> dict[int, list[LotPart]]:
    """By lot id its parts, each with its lot and material; a lot that is not made of others is left out.

    One query.
    """
    found: dict[int, list[LotPart]] = {}
    for part in LotPart.objects.filter(lot__in=list(lots)).select_related("of__material").order_by("pk"):
        found.setdefault(part.lot_id, []).append(part)
    return found


def made_of(lot: Lot) -> list[MadeOf]:
    """The parts of a lot and one level below. One query, two where it has parts."""
    parts = parts_of([lot.pk]).get(lot.pk, [])
    within = parts_of(part.of_id for part in parts) if parts else {}
    return [MadeOf(part, within.get(part.of_id, [])) for part in parts]


def lot_made(key: str) -> Lot | None:
    """The lot that was made under that key, with its material. One query."""
    return Lot.objects.select_related("material").filter(movements__key=f"made {key}").first()


def went_into(lot: Lot) -> list[LotPart]:
    """The lots made here that hold some of it, the newest first. One query."""
    return list(lot.went_into.select_related("lot__material").order_by("-lot__received_on", "-lot_id"))


def base_parts(lot: Lot) -> list[tuple[Lot, Decimal]]:
    """What all of a lot, as it was made, holds of lots that are not made of others; itself where it is one.

    In grams or pieces, unrounded. One query for each level of lots within lots.
    """
    return share(lot, lot.quantity)


def share(lot: Lot, quantity: Decimal) -> list[tuple[Lot, Decimal]]:
    """The same of so many grams or pieces of it."""
    return shares([(lot, quantity)])


def shares(taken: Iterable[tuple[Lot, Decimal]]) -> list[tuple[Lot, Decimal]]:
    """The same of several lots together, each base lot once, in the order of their ids."""
    taken = list(taken)
    parts = _all_parts({lot.pk for lot, _ in taken})
    total: dict[Lot, Decimal] = {}
    for lot, quantity in taken:
        for base, held in _expand(lot, quantity, parts, frozenset()):
            total[base] = total.get(base, Decimal(0)) + held
    return sorted(total.items(), key=lambda entry: entry[0].pk)


def _all_parts(lots: set[int]) -> dict[int, list[LotPart]]:
    """The parts of the lots, of their parts, and so on down. One query for each level."""
    known: dict[int, list[LotPart]] = {}
    wanted = lots
    while wanted:
        found = parts_of(wanted)
        known |= {pk: found.get(pk, []) for pk in wanted}
        wanted = {part.of_id for parts in found.values() for part in parts} - known.keys()
    return known


def _expand(
    lot: Lot, quantity: Decimal, parts: Mapping[int, list[LotPart]], above: frozenset[int]
) -> Iterable[tuple[Lot, Decimal]]:
    """Base lots in so much of a lot. One that would be in itself is not opened again."""
    if not parts[lot.pk] or lot.pk in above:
        yield lot, quantity
        return
    for part in parts[lot.pk]:
        held = part.quantity * quantity / lot.quantity
        yield from _expand(part.of, held, parts, above | {lot.pk})
