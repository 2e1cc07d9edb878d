"""What stands between a deed from a phone and the book, in plain words, and what the maker can choose."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum

from django.db.models import Sum
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext

from batches.models import Batch, Deed, Line, State, Weighing
from batches.services.moment import day_in_words
from batches.services.told import Add, Content, Count, Leave, Told, Undo, Weigh
from inventory.amounts import in_words
from inventory.models import Lot
from inventory.queries import lots_to_use
from shared.money import fifo

MOST_LOTS = 3
NOTHING = Decimal(0)


class Then(StrEnum):
    """What becomes of the deed that was held."""

    AGAIN = "again"
    ASIDE = "aside"
    REST_ASIDE = "rest_aside"
    """It and all that the phone has done to the pot since is kept in the record only."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One way on. `first` are deeds that go before the one that was held, `instead` replaces its content."""

    words: str
    then: Then
    first: tuple[Content, ...] = ()
    instead: Content | None = None


class Held(Exception):
    """A deed that waits for a choice of the maker's. Nothing of it is in the book."""

    def __init__(self, title: str, words: str, choices: Sequence[Choice]) -> None:
        self.title, self.words, self.choices = title, words, tuple(choices)
        super().__init__(f"{title}. {words}")


def closed(batch: Batch) -> Held:
    """The batch was poured, dropped or undone meanwhile."""
    if batch.state in (State.POURED, State.CUT):
        title = gettext("%(batch)s is poured already") % {"batch": batch}
        why = gettext("%(person)s logged the pour at %(time)s.")
        why %= {"person": batch.poured_by, "time": _when(batch)}
    else:
        title = _closed_now(batch)
        why = gettext("The reason given: %(reason)s") % {"reason": batch.closed_reason}
    kept = gettext(
        "What you did on this phone since can be kept in the record of the batch; "
        "pot and stock stay as they are in the book."
    )
    return Held(
        title=title,
        words=f"{why} {kept}",
        choices=[Choice(gettext("Keep what I did in the record"), Then.REST_ASIDE)],
    )


def nothing_happens_any_more(batch: Batch) -> Held:
    """An event of a batch that was dropped or undone."""
    return Held(
        title=_closed_now(batch),
        words=gettext("Nothing more is noted for it at the bench. This can be kept in its record."),
        choices=[Choice(gettext("Keep it in the record"), Then.ASIDE)],
    )


def weighed_already(line: Line, told: Weigh, lot: Lot) -> Held:
    """The line was weighed, or left out, on another phone."""
    noted = list(line.weighings.select_related("lot", "by"))
    mine = gettext("%(amount)s from %(lot)s")
    mine %= {"amount": in_words(told.quantity, line.material), "lot": lot.code}
    if not noted:
        return Held(
            title=gettext("%(material)s was left out") % {"material": line.material},
            words=gettext("In the book the batch goes on without it. On this phone: %(mine)s.")
            % {"mine": mine},
            choices=[
                Choice(gettext("It is in the pot"), Then.AGAIN, first=(Leave(line.pk, done=False),)),
                Choice(gettext("It is not in the pot: keep mine in the record only"), Then.ASIDE),
            ],
        )
    choices = [
        Choice(gettext("It is one and the same: keep what is in the book"), Then.ASIDE),
        Choice(gettext("Both are in the pot: add mine"), Then.AGAIN, instead=Add(told.lot, told.quantity)),
    ]
    if len(noted) == 1 and not line.extra:
        choices.append(Choice(gettext("Only mine is in the pot"), Then.AGAIN, first=(Undo(noted[0].key),)))
    return Held(
        title=gettext("%(material)s was weighed already") % {"material": line.material},
        words=gettext("In the book: %(noted)s. On this phone: %(mine)s.")
        % {"noted": "; ".join(map(_told_of, noted)), "mine": mine},
        choices=choices,
    )


def holds_less(batch: Batch, told: Told, content: Weigh | Add, lot: Lot, day: date) -> Held:
    """A lot no longer holds what was weighed out of it."""
    material, wanted = lot.material, content.quantity
    taken = _taken(batch, lot)
    free = max(lot.on_hand - taken, NOTHING)
    others = _other_lots(batch, lot, day)
    choices = _from_another(content, others)
    if split := _split(told, content, lot, free, others):
        choices.append(split)
    choices.append(set_stock(lot, taken + wanted))
    choices.append(Choice(gettext("Keep it in the record only"), Then.ASIDE))
    return Held(
        title=gettext("%(lot)s holds less now") % {"lot": lot.code},
        words=gettext(
            "%(lot)s can give %(free)s %(material)s, and on this phone %(weighed)s were weighed out of it."
        )
        % {
            "lot": lot.code,
            "free": in_words(free, material),
            "material": material,
            "weighed": in_words(wanted, material),
        },
        choices=choices,
    )


def expired(batch: Batch, content: Weigh | Add, lot: Lot, day: date) -> Held:
    """A lot that was past its best-before on the day it was weighed."""
    return Held(
        title=gettext("%(lot)s is past its best-before") % {"lot": lot.code},
        words=gettext("%(lot)s (%(material)s) was best before %(day)s, so the book takes nothing from it.")
        % {"lot": lot.code, "material": lot.material, "day": day_in_words(lot.best_before)},
        choices=[
            *_from_another(content, _other_lots(batch, lot, day)),
            Choice(gettext("I have set its best-before right in Stock: try again"), Then.AGAIN),
            Choice(gettext("Keep it in the record only"), Then.ASIDE),
        ],
    )


def still_to_weigh(batch: Batch, waiting: Sequence[Line], day: date) -> Held:
    """Lines are open at the pour, as when another phone took a weight back."""
    names = ", ".join(str(line.material) for line in waiting)
    choices = []
    filled = [_as_it_was(batch, line, day) for line in waiting]
    if all(filled):
        deeds = tuple(deed for found in filled for deed in found)
        words = gettext("It is in the pot: %(what)s") % {"what": _listed(deeds)}
        choices.append(Choice(words, Then.AGAIN, first=deeds))
    if all(line.weighings.exists() or not line.before_the_lye for line in waiting):
        without = tuple(Leave(line.pk, done=True) for line in waiting)
        choices.append(Choice(gettext("Poured without it"), Then.AGAIN, first=without))
    choices.append(
        Choice(gettext("Keep this pour in the record only, and finish the card at the bench"), Then.ASIDE)
    )
    return Held(
        title=gettext("The card is not done"),
        words=gettext(
            "In the book there is still to weigh: %(materials)s. Perhaps another phone took a weight back."
        )
        % {"materials": names},
        choices=choices,
    )


def used_up(batch: Batch, lot: Lot, day: date) -> Held:
    """Another batch was poured out of a lot that this one had weighed from."""
    lot = Lot.objects.select_related("material").get(pk=lot.pk)
    material = lot.material
    weighings = list(Weighing.objects.filter(line__batch=batch, lot=lot).select_related("line", "lot"))
    weighed = _total(weighings)
    # What went into a jug is told with the jug: it is taken back and filled anew at the bench.
    others = [] if any(one.jug_id for one in weighings) else _other_lots(batch, lot, day)
    choices = [
        Choice(_came_from(other, free), Then.AGAIN, first=_weighed_anew(weighings, [(other, weighed)]))
        for other, free in others
        if free >= weighed
    ][:MOST_LOTS]
    rest = weighed - lot.on_hand
    if lot.on_hand > 0 and (other := next((each for each, free in others if free >= rest), None)):
        anew = _weighed_anew(weighings, [(lot, lot.on_hand), (other, rest)])
        choices.append(Choice(_both(lot, lot.on_hand, other, rest), Then.AGAIN, first=anew))
    choices.append(set_stock(lot, weighed))
    choices.append(Choice(gettext("Keep this pour in the record only"), Then.ASIDE))
    return Held(
        title=gettext("%(lot)s holds less now") % {"lot": lot.code},
        words=gettext(
            "%(weighed)s %(material)s were weighed out of %(lot)s, and it holds %(held)s now. "
            "Perhaps another batch took from it."
        )
        % {
            "weighed": in_words(weighed, material),
            "material": material,
            "lot": lot.code,
            "held": in_words(lot.on_hand, material),
        },
        choices=choices,
    )


def _from_another(content: Weigh | Add, others: Sequence[tuple[Lot, Decimal]]) -> list[Choice]:
    return [
        Choice(_came_from(other, free), Then.AGAIN, instead=replace(content, lot=other.pk))
        for other, free in others
        if free >= content.quantity
    ][:MOST_LOTS]


def _split(
    told: Told, content: Weigh | Add, lot: Lot, free: Decimal, others: Sequence[tuple[Lot, Decimal]]
) -> Choice | None:
    rest = content.quantity - free
    other = next((each for each, held in others if held >= rest), None)
    if other is None or free <= 0:
        return None
    part = replace(content, quantity=free, part_of=told.key)
    if isinstance(part, Weigh):
        part = replace(part, more_to_come=True)
    instead = replace(content, lot=other.pk, quantity=rest)
    return Choice(_both(lot, free, other, rest), Then.AGAIN, first=(part,), instead=instead)


def set_stock(lot: Lot, held: Decimal) -> Choice:
    """The lot did hold so much, whatever the book says."""
    words = gettext("%(lot)s did hold it: set its stock to %(amount)s")
    words %= {"lot": lot.code, "amount": in_words(held, lot.material)}
    return Choice(words, Then.AGAIN, first=(Count(lot.pk, held),))


def _as_it_was(batch: Batch, line: Line, day: date) -> list[Content]:
    """What fills an open line: the weight that a phone told of last, else what is missing from the plan.

    Empty where the stock cannot give it.
    """
    weighings = list(line.weighings.all())
    told = Deed.objects.filter(batch=batch, kind="weigh", set_aside=False, content__line=line.pk).last()
    if told and not weighings:
        return [Weigh(line.pk, told.content["lot"], Decimal(told.content["quantity"]))]
    missing = max(line.planned - _total(weighings), NOTHING)
    if not missing:
        return [Leave(line.pk, done=True)]
    portions, short = fifo(_free(batch, line.material_id, day), missing)
    if short:
        return []
    return list(_weighed([(line, lot, grams) for lot, grams in portions]))


def _weighed_anew(weighings: Sequence[Weighing], lots: Sequence[tuple[Lot, Decimal]]) -> tuple[Content, ...]:
    """The same weights out of other lots. All are taken back first, for a lot to hold what is noted next."""
    left = dict(lots)
    undone: list[Content] = []
    portions: list[tuple[Line, Lot, Decimal]] = []
    for weighing in weighings:
        found, _ = fifo(left.items(), weighing.quantity)
        for lot, grams in found:
            left[lot] -= grams
        if found != [(weighing.lot, weighing.quantity)]:
            undone.append(Undo(weighing.key))
            portions += [(weighing.line, lot, grams) for lot, grams in found]
    return (*undone, *_weighed(portions))


def _weighed(portions: Sequence[tuple[Line, Lot, Decimal]]) -> Iterator[Content]:
    """The deeds that note them; the last of each line closes it."""
    for place, (line, lot, grams) in enumerate(portions):
        if line.extra:  # it vanished with its last weight
            yield Add(lot.pk, grams)
        else:
            more = any(other.pk == line.pk for other, *_ in portions[place + 1 :])
            yield Weigh(line.pk, lot.pk, grams, more_to_come=more)


def _other_lots(batch: Batch, lot: Lot, day: date) -> list[tuple[Lot, Decimal]]:
    return [(other, free) for other, free in _free(batch, lot.material_id, day) if other != lot]


def _free(batch: Batch, material: int, day: date) -> list[tuple[Lot, Decimal]]:
    """Lots that keep until that day with what this batch can still take from each, first to expire first."""
    lots = lots_to_use([material], day).get(material, [])
    return [(lot, max(lot.on_hand - _taken(batch, lot), NOTHING)) for lot in lots]


def _taken(batch: Batch, lot: Lot) -> Decimal:
    """Grams that this batch has weighed out of a lot, which stock does not know of yet."""
    weighed = Weighing.objects.filter(line__batch=batch, lot=lot)
    return Decimal(weighed.aggregate(total=Sum("quantity", default=NOTHING))["total"])


def _total(weighings: Sequence[Weighing]) -> Decimal:
    return sum((weighing.quantity for weighing in weighings), NOTHING)


def _listed(deeds: Sequence[Content]) -> str:
    weights = [deed for deed in deeds if isinstance(deed, Weigh | Add)]
    if not weights:
        return gettext("nothing more is missing")
    lots = Lot.objects.select_related("material").in_bulk([deed.lot for deed in weights])
    return ", ".join(_out_of(lots[deed.lot], deed.quantity) for deed in weights)


def _out_of(lot: Lot, grams: Decimal) -> str:
    figures = {"amount": in_words(grams, lot.material), "material": lot.material, "lot": lot}
    return gettext("%(amount)s %(material)s from %(lot)s") % figures


def _came_from(lot: Lot, free: Decimal) -> str:
    words = gettext("It came out of %(lot)s, which holds %(amount)s")
    return words % {"lot": lot.code, "amount": in_words(free, lot.material)}


def _both(lot: Lot, grams: Decimal, other: Lot, rest: Decimal) -> str:
    words = gettext("%(amount)s came out of %(lot)s, the other %(rest)s out of %(other)s")
    return words % {
        "amount": in_words(grams, lot.material),
        "lot": lot.code,
        "rest": in_words(rest, lot.material),
        "other": other.code,
    }


def _told_of(weighing: Weighing) -> str:
    at = timezone.localtime(weighing.at)
    amount = in_words(weighing.quantity, weighing.line.material)
    words = gettext("%(amount)s from %(lot)s, weighed by %(person)s at %(time)s")
    figures = {"amount": amount, "lot": weighing.lot.code, "person": weighing.by, "time": f"{at:%H:%M}"}
    return words % figures


def _when(batch: Batch) -> str:
    at = timezone.localtime(batch.poured_at)
    if at.date() == timezone.localdate():
        return f"{at:%H:%M}"
    # Translators: a time and its day, as in '18:30 on Tue 12 May'.
    return gettext("%(time)s on %(day)s") % {"time": f"{at:%H:%M}", "day": date_format(at, "D j M")}


def _closed_now(batch: Batch) -> str:
    return gettext("%(batch)s is %(state)s") % {"batch": batch, "state": batch.get_state_display().lower()}
