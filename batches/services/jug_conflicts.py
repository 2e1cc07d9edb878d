"""What stands between a deed from a phone that tells of jugs and the book, and what the maker can choose."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext

from batches.frozen import FrozenRecipe
from batches.models import Batch, Jug
from batches.services.conflicts import Choice, Held, Then, set_stock
from batches.services.jugs import board_of
from batches.services.told import AddJug, EmptyJug, Fill, LeaveJug, Stirred, TopUp
from batches.splitting import JugCard
from inventory.services.ledger import NotEnough


def filled_already(jug: Jug, told: Fill) -> Held:
    """The jug was filled, or left out, on another phone."""
    mine = gettext("On this phone: %(grams)s g of batter.") % {"grams": told.grams}
    if jug.dropped:
        return Held(
            title=gettext("%(jug)s was left out") % {"jug": jug.name},
            words=gettext("In the book the batch goes on without it.") + " " + mine,
            choices=[
                Choice(gettext("It is filled"), Then.AGAIN, first=(EmptyJug(jug.name),)),
                Choice(gettext("It is not filled: keep mine in the record only"), Then.ASIDE),
            ],
        )
    return Held(
        title=gettext("%(jug)s was filled already") % {"jug": jug.name},
        words=_in_the_book(jug) + " " + mine,
        choices=[
            Choice(gettext("It is one and the same: keep what is in the book"), Then.ASIDE),
            Choice(gettext("Mine is right: put it in its place"), Then.AGAIN, first=(EmptyJug(jug.name),)),
        ],
    )


def filled_meanwhile(jug: Jug) -> Held:
    """A jug that was left out on this phone was filled on another."""
    return Held(
        title=gettext("%(jug)s was filled") % {"jug": jug.name},
        words=_in_the_book(jug) + " " + gettext("On this phone it was left out."),
        choices=[
            Choice(gettext("It is filled: keep what is in the book"), Then.ASIDE),
            Choice(gettext("It was left out"), Then.AGAIN, first=(EmptyJug(jug.name),)),
        ],
    )


def called_so_already(jug: Jug, told: AddJug) -> Held:
    """Another phone took a portion out and gave it the same name."""
    same = Choice(gettext("It is one and the same: keep what is in the book"), Then.ASIDE)
    both = Choice(gettext("Both are in it: add mine"), Then.AGAIN, instead=TopUp(jug.name, told.grams))
    return Held(
        title=gettext("There is a jug called %(jug)s already") % {"jug": jug.name},
        words=(_in_the_book(jug) if jug.grams else gettext("In the book it is still empty."))
        + " "
        + gettext("On this phone: %(grams)s g of batter.") % {"grams": told.grams},
        choices=[same, both] if jug.grams else [same],
    )


def ask_instead_of(error: ValidationError, batch: Batch, told: Fill | TopUp | AddJug) -> None:
    """Raises Held where the book refused it for want of batter, or of something to stir in."""
    if "grams" in getattr(error, "error_dict", {}):
        raise _not_so_much_left(batch, told) from error
    if isinstance(told, Fill) and getattr(error, "code", "") == "not_enough":
        raise _not_enough_to_stir_in(error, told) from error


def check_all_filled(batch: Batch) -> None:
    """Raises Held where jugs are open at the pour, as when another phone emptied one."""
    if FrozenRecipe.from_json(batch.frozen).split is None:
        return
    waiting = board_of(batch).open
    if not waiting:
        return
    choices = []
    if all(card.grams is not None for card in waiting):
        words = gettext("They got what was planned: %(jugs)s")
        filled = ", ".join(
            gettext("%(jug)s %(grams)s g") % {"jug": card.jug.name, "grams": card.grams} for card in waiting
        )
        choices.append(Choice(words % {"jugs": filled}, Then.AGAIN, first=tuple(_as_planned(waiting))))
    without = tuple(LeaveJug(card.jug.name) for card in waiting)
    choices.append(Choice(gettext("Poured without them"), Then.AGAIN, first=without))
    choices.append(
        Choice(gettext("Keep this pour in the record only, and finish the card at the bench"), Then.ASIDE)
    )
    names = ", ".join(card.jug.name for card in waiting)
    raise Held(
        title=gettext("The card is not done"),
        words=gettext("In the book these are still empty: %(jugs)s. Perhaps another phone emptied them.")
        % {"jugs": names},
        choices=choices,
    )


def _as_planned(waiting: tuple[JugCard, ...]) -> Iterator[Fill]:
    for card in waiting:
        stirred = tuple(Stirred(stir.line.pk, stir.grams) for stir in card.stir)
        yield Fill(card.jug.name, card.grams or Decimal(0), stirred)


def _not_so_much_left(batch: Batch, told: Fill | TopUp | AddJug) -> Held:
    remains = board_of(batch).remains
    choices = []
    if remains > 0:
        words = gettext("It got what was left, %(remains)s g") % {"remains": remains}
        choices.append(Choice(words, Then.AGAIN, instead=replace(told, grams=remains)))
    choices += [
        Choice(gettext("I have set the other jugs right in the book: try again"), Then.AGAIN),
        Choice(gettext("Keep it in the record only"), Then.ASIDE),
    ]
    figures = {"remains": remains, "grams": told.grams, "jug": _name(told)}
    return Held(
        title=gettext("Not so much batter is left"),
        words=gettext(
            "In the book %(remains)s g are left in the bucket, and on this phone %(grams)s g went "
            "into %(jug)s. Perhaps another phone filled a jug."
        )
        % figures,
        choices=choices,
    )


def _name(told: Fill | TopUp | AddJug) -> str:
    return told.name if isinstance(told, AddJug) else told.jug


def _not_enough_to_stir_in(error: ValidationError, told: Fill) -> Held:
    choices = []
    if any(each.lot for each in told.stirred):
        from_any = replace(told, stirred=tuple(replace(each, lot=None) for each in told.stirred))
        words = gettext("It came out of the lots that expire first")
        choices.append(Choice(words, Then.AGAIN, instead=from_any))
    if isinstance(error, NotEnough):
        choices.append(set_stock(error.lot, error.lot.on_hand + error.wanted - error.on_hand))
    choices += [
        Choice(gettext("I have set it right in Stock: try again"), Then.AGAIN),
        Choice(gettext("Keep it in the record only"), Then.ASIDE),
    ]
    return Held(
        title=gettext("Stock holds less now than went into %(jug)s") % {"jug": told.jug},
        words=" ".join(error.messages),
        choices=choices,
    )


def _in_the_book(jug: Jug) -> str:
    at = timezone.localtime(jug.filled_at)
    words = gettext("In the book: %(grams)s g of batter, filled by %(person)s at %(time)s.")
    return words % {"grams": jug.grams, "person": jug.filled_by, "time": f"{at:%H:%M}"}
