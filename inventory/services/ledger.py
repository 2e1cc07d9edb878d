"""The ledger: every change of a lot's stock, each in the same transaction as its balance.

Movements are only ever added. A balance never goes below zero: the lot's row is locked, and the update itself
asks whether enough is there, so that of two people who take the last of a lot one is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.db.models.functions import Round
from django.utils import timezone
from django.utils.translation import gettext

from inventory.amounts import HUNDREDTH, MOST, in_words
from inventory.models import Lot, Movement
from soapshop.core.access import require_maker
from soapshop.core.models import User


class NotEnough(ValidationError):
    """A lot holds less than was wanted of it."""

    def __init__(self, lot: Lot, wanted: Decimal, on_hand: Decimal) -> None:
        self.lot, self.wanted, self.on_hand = lot, wanted, on_hand
        material = lot.material
        super().__init__(
            gettext("%(lot)s (%(material)s) holds %(held)s: %(short)s short of the %(wanted)s wanted.")
            % {
                "lot": lot.code,
                "material": material,
                "held": in_words(on_hand, material),
                "short": in_words(wanted - on_hand, material),
                "wanted": in_words(wanted, material),
            },
            code="not_enough",
        )


class NotReversible(ValidationError):
    """A movement that cannot be taken back, or not in this way."""


@dataclass(frozen=True, slots=True)
class Taking:
    """What is to leave a lot: grams or pieces, above zero. `key` names the deed, so that it counts once."""

    lot: Lot
    quantity: Decimal
    key: str


def take(
    *,
    lot: Lot,
    quantity: Decimal,
    kind: Movement.Kind,
    key: str,
    by: User,
    document: str = "",
    reason: str = "",
) -> Movement:
    """Take an amount out of one lot; the same key again returns the first movement.

    Raises NotEnough where the lot holds less, ValidationError for an amount that is none.
    """
    taking = Taking(lot, quantity, key)
    return take_all(takings=[taking], kind=kind, by=by, document=document, reason=reason)[0]


def take_all(
    *,
    takings: Sequence[Taking],
    kind: Movement.Kind,
    by: User,
    document: str = "",
    reason: str = "",
    at: datetime | None = None,
) -> list[Movement]:
    """Take from several lots, all or nothing. Returns the movements in the order of the takings.

    `at` is when it happened, for a pour that is logged afterwards; now where it is not given.
    The lots are locked in the order of their ids, so that two pours can never wait for each other.
    """
    changes = [Taking(each.lot, -amount(each.quantity), each.key) for each in takings]
    return _book(changes, kind=kind, by=by, document=document, reason=reason, at=at)


def give(
    *,
    lot: Lot,
    quantity: Decimal,
    kind: Movement.Kind,
    key: str,
    by: User,
    document: str = "",
    reason: str = "",
    at: datetime | None = None,
) -> Movement:
    """Put an amount into a lot; the same key again returns the first movement. `at` as in `take_all`."""
    changes = [Taking(lot, amount(quantity), key)]
    return _book(changes, kind=kind, by=by, document=document, reason=reason, at=at)[0]


def correct(*, lot: Lot, counted: Decimal, reason: str, key: str, by: User) -> Movement | None:
    """Set a lot to what the scale shows. Returns the movement, or None where the book was right already."""
    require_maker(by)
    if counted != 0:
        counted = amount(counted)
    _need_reason(reason)
    with transaction.atomic():
        locked = _lock([lot.pk])[lot.pk]
        if done := Movement.objects.filter(key=key).first():
            return done
        difference = counted - locked.on_hand
        if difference == 0:
            return None
        return _book([Taking(locked, difference, key)], kind=Movement.Kind.CORRECTED, by=by, reason=reason)[0]


def discard(*, lot: Lot, quantity: Decimal, reason: str, key: str, by: User) -> Movement:
    """Write off what was spilled or spoiled."""
    _need_reason(reason)
    return take(lot=lot, quantity=quantity, kind=Movement.Kind.WASTED, key=key, by=by, reason=reason)


def reverse(*, movement: Movement, reason: str, key: str, by: User, through_batch: bool = False) -> Movement:
    """Book the opposite of a movement, once.

    What a batch took or made is taken back through the batch, which passes `through_batch`.
    Raises NotReversible, or NotEnough where what came in is no longer there.
    """
    require_maker(by)
    _need_reason(reason)
    with transaction.atomic():
        _lock([movement.lot_id])
        if done := Movement.objects.filter(key=key).first():
            return done
        if refusal := why_not(movement, through_batch=through_batch):
            raise NotReversible(refusal, code="not_reversible")
        change = Taking(movement.lot, -movement.quantity, key)
        return _book(
            [change],
            kind=Movement.Kind.REVERSED,
            by=by,
            document=movement.document,
            reason=reason,
            reverses=movement,
        )[0]


def why_not(movement: Movement, *, through_batch: bool = False) -> str:
    """Why a movement may not be taken back by hand; empty where it may."""
    if Movement.objects.filter(reverses=movement).exists():
        return gettext("This movement was taken back already.")
    if movement.kind == Movement.Kind.POURED and not through_batch:
        words = gettext("This went into %(document)s. Undo it there, so that batch and stock agree.")
        return words % {"document": movement.document}
    if movement.kind == Movement.Kind.MADE and not through_batch:
        return gettext("This was made here. Undo the batch that made it, so that batch and stock agree.")
    if movement.kind == Movement.Kind.REVERSED:
        return gettext("This takes a movement back itself. Book a correction instead.")
    return ""


def reverse_all(*, movements: Iterable[Movement], reason: str, by: User) -> list[Movement]:
    """Give back all that a batch took, in the order of the lots' ids; twice counts once."""
    with transaction.atomic():
        return [
            reverse(movement=each, reason=reason, key=f"reversal of {each.pk}", by=by, through_batch=True)
            for each in sorted(movements, key=lambda movement: (movement.lot_id, movement.pk))
        ]


def amount(quantity: Decimal) -> Decimal:
    """An amount as the ledger keeps it: two decimals, above zero. Raises ValidationError for any other."""
    if not quantity.is_finite() or quantity > MOST:
        raise ValidationError(gettext("That amount is too large."), code="amount")
    rounded = quantity.quantize(HUNDREDTH)
    if rounded <= 0:
        raise ValidationError(gettext("The amount must be more than nothing."), code="amount")
    return rounded


def _book(
    changes: Sequence[Taking],
    *,
    kind: Movement.Kind,
    by: User,
    document: str = "",
    reason: str = "",
    reverses: Movement | None = None,
    at: datetime | None = None,
) -> list[Movement]:
    """Change the balances and write the movements; what the ledger has under its key stays as it is."""
    require_maker(by)
    with transaction.atomic():
        lots = _lock(change.lot.pk for change in changes)
        known = {
            done.key: done for done in Movement.objects.filter(key__in=[change.key for change in changes])
        }
        new: dict[str, Movement] = {}
        for change in changes:
            if change.key in known or change.key in new:
                continue
            _change_balance(lots[change.lot.pk], change.quantity)
            new[change.key] = Movement(
                lot=change.lot,
                quantity=change.quantity,
                kind=kind,
                at=at or timezone.now(),
                by=by,
                document=document,
                reason=reason.strip(),
                reverses=reverses,
                key=change.key,
            )
        Movement.objects.bulk_create(new.values())
        return [(known | new)[change.key] for change in changes]


def _lock(lots: Iterable[int]) -> dict[int, Lot]:
    """The lots by id, locked in that order until the transaction ends."""
    return Lot.objects.select_for_update().order_by("pk").in_bulk(set(lots))


def _change_balance(lot: Lot, change: Decimal) -> None:
    """Add to a locked lot's balance. Raises NotEnough rather than let it fall below zero.

    Rounded, since SQLite reckons in binary: without it 0.03 - 0.02 would hold less than the 0.01 wanted next.
    """
    balance = Round(F("on_hand") + change, precision=2)
    changed = Lot.objects.filter(pk=lot.pk, on_hand__gte=-change).update(on_hand=balance)
    if not changed:
        lot.refresh_from_db(fields=["on_hand"])
        raise NotEnough(lot, -change, lot.on_hand)


def _need_reason(reason: str) -> None:
    if not reason.strip():
        raise ValidationError(gettext("Say in a few words why."), code="reason")
