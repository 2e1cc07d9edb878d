"""The bench while a batch is weighed: what comes next, out of which lot, and how safe the pot is."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from django.db.models import Prefetch
from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import Batch, Line, Weighing
from batches.safety import Pot, assess_pot, pot_of
from inventory.models import Kind, Lot
from shared.saponification import FormulaError, SafetyRange


class Step(StrEnum):
    """What the bench does next. Its values are the names of the pages."""

    WEIGH = "weigh"
    LYE = "lye"
    CONFIRM = "confirm"


@dataclass(frozen=True, slots=True)
class CardLine:
    """A line of the card with what has been weighed for it, the last weighing at the end."""

    line: Line
    weighings: tuple[Weighing, ...]

    @property
    def weighed(self) -> Decimal:
        return sum((weighing.quantity for weighing in self.weighings), Decimal(0))

    @property
    def missing(self) -> Decimal:
        return max(self.line.planned - self.weighed, Decimal(0))

    @property
    def left_out(self) -> bool:
        return self.line.done and not self.weighings

    @property
    def may_be_left_out(self) -> bool:
        """Whether the batch can do without it, or without the rest of it."""
        return bool(self.weighings) or not self.line.before_the_lye


@dataclass(frozen=True, slots=True)
class Bench:
    """A batch that is being weighed.

    `safety` is None until the first fat has been weighed, and where `trouble` says why there is none.
    """

    batch: Batch
    recipe: FrozenRecipe
    lines: tuple[CardLine, ...]
    safety: SafetyRange | None
    trouble: str

    @property
    def done(self) -> int:
        return sum(card.line.done for card in self.lines)

    @property
    def waiting(self) -> tuple[CardLine, ...]:
        return tuple(card for card in self.lines if not card.line.done)

    @property
    def step(self) -> Step:
        if not self.lye_waits_for and self.batch.lye_mixed_at is None:
            return Step.LYE
        return Step.WEIGH if self.waiting else Step.CONFIRM

    @property
    def lye_waits_for(self) -> tuple[CardLine, ...]:
        """What has to be weighed before the lye is mixed."""
        return tuple(card for card in self.waiting if card.line.before_the_lye)

    @property
    def last(self) -> Weighing | None:
        """What was noted last: the one that undo takes back."""
        noted = (weighing for card in self.lines for weighing in card.weighings)
        return max(noted, key=lambda weighing: (weighing.at, weighing.pk), default=None)

    @property
    def alkali(self) -> Decimal:
        """Grams of alkali that the safety range counts on: weighed, or else planned."""
        return sum((_counts_as(card) for card in self.alkalis), Decimal(0))

    @property
    def liquids(self) -> tuple[CardLine, ...]:
        return self.of(Kind.LIQUID)

    @property
    def alkalis(self) -> tuple[CardLine, ...]:
        return self.of(Kind.ALKALI)

    def of(self, *kinds: Kind) -> tuple[CardLine, ...]:
        return tuple(card for card in self.lines if card.line.kind in kinds)

    def find(self, line: int | None) -> CardLine | None:
        """The line of that id, or the next one that waits."""
        asked = (card for card in self.lines if card.line.pk == line)
        return next(asked, None) or next(iter(self.waiting), None)

    def taken_from(self) -> defaultdict[int, Decimal]:
        """Grams weighed out of each lot by its id, which stock does not know of yet."""
        taken: defaultdict[int, Decimal] = defaultdict(Decimal)
        for card in self.lines:
            for weighing in card.weighings:
                taken[weighing.lot_id] += weighing.quantity
        return taken


@dataclass(frozen=True, slots=True)
class LotChoice:
    """A lot of the material with what this batch can still take from it."""

    lot: Lot
    free: Decimal
    expired: bool

    @property
    def usable(self) -> bool:
        return self.free > 0 and not self.expired


@dataclass(frozen=True, slots=True)
class ToWeigh:
    """One line to weigh now. `lot` is None where the stock has nothing left to take.

    `amount` is what to weigh out of the lot; `reads` is what the scale then shows, with what is in the vessel
    already.
    """

    card: CardLine
    choices: tuple[LotChoice, ...]
    lot: Lot | None
    amount: Decimal
    reads: Decimal

    @property
    def line(self) -> Line:
        return self.card.line

    @property
    def rest(self) -> Decimal:
        """What is then still missing, to come from another lot."""
        return self.card.missing - self.amount


def bench(batch: Batch) -> Bench:
    """All that has been weighed of a batch, with the safety range of it. Three queries."""
    recipe = FrozenRecipe.from_json(batch.frozen)
    lots = Prefetch("weighings", Weighing.objects.select_related("lot__material").order_by("at", "pk"))
    lines = list(batch.lines.select_related("material").prefetch_related(lots))
    cards = tuple(CardLine(line, tuple(line.weighings.all())) for line in lines)
    started = any(card.weighings for card in cards if card.line.kind == Kind.FAT)
    safety, trouble = assessed(recipe, pot_of(recipe, lines)) if started else (None, "")
    return Bench(batch, recipe, cards, safety, trouble)


def assessed(recipe: FrozenRecipe, pot: Pot) -> tuple[SafetyRange | None, str]:
    """The safety range of what is in the pot, or why there is none."""
    try:
        return assess_pot(recipe, pot), ""
    except FormulaError as error:
        return None, str(error)


def to_weigh(board: Bench, card: CardLine, lot: int | None = None) -> ToWeigh:
    """What to weigh for a line, out of the lot of that id or of the first to expire. One query."""
    taken, today = board.taken_from(), timezone.localdate()
    lots = Lot.objects.in_stock().filter(material=card.line.material_id).to_use_first()
    choices = tuple(LotChoice(each, each.on_hand - taken[each.pk], each.expired_on(today)) for each in lots)
    choices = tuple(sorted(choices, key=lambda choice: not choice.usable))
    usable = [choice for choice in choices if choice.usable]
    chosen = next((choice for choice in usable if choice.lot.pk == lot), None) or next(iter(usable), None)
    amount = min(card.missing, chosen.free) if chosen else Decimal(0)
    return ToWeigh(
        card, choices, chosen.lot if chosen else None, amount, _in_the_vessel(board, card) + amount
    )


def _counts_as(card: CardLine) -> Decimal:
    return card.weighed if card.line.done else max(card.weighed, card.line.planned)


def _in_the_vessel(board: Bench, card: CardLine) -> Decimal:
    """Fats share the pot and liquids the jug; everything else is weighed in a dish of its own."""
    kind = card.line.kind
    shared = board.of(kind) if kind in (Kind.FAT, Kind.LIQUID) else (card,)
    return sum((other.weighed for other in shared), Decimal(0))
