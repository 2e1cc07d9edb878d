"""The bench while a batch is weighed: what comes next, out of which lot, and how safe the pot is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from enum import StrEnum
from hashlib import sha256

from django.db.models import Count, Max, OuterRef, Prefetch, Q, Subquery, Sum
from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import Batch, Event, Jug, Line, Weighing
from batches.safety import Pot, assess_pot, pot_of
from batches.splitting import Splitting, splitting
from inventory.models import Kind, Lot
from recipes.models import Stage
from shared.saponification import FormulaError, SafetyRange
from soapshop.core.models import User
from soapshop.core.words import in_words

NEWS = timedelta(minutes=10)
"""For as long, the bench tells what somebody else has weighed."""

SHARING = (Kind.FAT, Kind.LIQUID)
"""Kinds that are weighed into a vessel in which others of the kind are already."""


class Step(StrEnum):
    """What the bench does next. Its values are the names of the pages."""

    WEIGH = "weigh"
    LYE = "lye"
    SPLIT = "split"
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
    def last(self) -> Weighing | None:
        return self.weighings[-1] if self.weighings else None

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

    `safety` is None until the first fat has been weighed, and where `trouble` says why there is none. `split`
    is None where the batter is poured as one.
    """

    batch: Batch
    recipe: FrozenRecipe
    lines: tuple[CardLine, ...]
    safety: SafetyRange | None
    trouble: str
    split: Splitting | None = None

    @property
    def done(self) -> int:
        return sum(card.line.done for card in self.lines)

    @property
    def waiting(self) -> tuple[CardLine, ...]:
        return tuple(card for card in self.lines if not card.line.done)

    @property
    def to_weigh(self) -> tuple[CardLine, ...]:
        """What waits to be weighed by itself: not what is weighed jug by jug, nor before that what goes on
        top."""
        open_jugs = self.split is not None and bool(self.split.open)
        later = {Stage.JUG, Stage.TOP} if open_jugs else {Stage.JUG}
        return tuple(card for card in self.waiting if card.line.stage not in later)

    @property
    def step(self) -> Step:
        if not self.lye_waits_for and self.batch.lye_mixed_at is None:
            return Step.LYE
        if self.to_weigh:
            return Step.WEIGH
        return Step.SPLIT if self.split and self.split.open else Step.CONFIRM

    @property
    def lye_waits_for(self) -> tuple[CardLine, ...]:
        """What has to be weighed before the lye is mixed."""
        return tuple(card for card in self.waiting if card.line.before_the_lye)

    @property
    def mark(self) -> str:
        """Changes with every weight that is noted or taken back."""
        filled = self.split.taken if self.split else 0
        return f"{self.step} {self.done} {self.last.pk if self.last else 0} {filled}"

    @property
    def last(self) -> Weighing | None:
        """What was noted last."""
        return _last(self._noted())

    def last_by(self, user: User) -> Weighing | None:
        """What this maker noted last: the one that undo takes back. What went into a jug is taken back with
        the jug."""
        mine = (one for one in self._noted() if one.by_id == user.pk and one.jug_id is None)
        return _last(mine)

    def last_by_others(self, user: User) -> Weighing | None:
        """What somebody else noted last, a short while ago."""
        since = timezone.now() - NEWS
        others = (weighing for weighing in self._noted() if weighing.by_id != user.pk)
        return _last(weighing for weighing in others if weighing.at > since)

    @property
    def alkali(self) -> Decimal:
        """Grams of alkali that the safety range counts on: weighed, or else planned."""
        return sum((_counts_as(card) for card in self.alkalis), Decimal(0))

    @property
    def in_the_jug(self) -> tuple[CardLine, ...]:
        """What the alkali is stirred into: liquids that do not wait for trace, and what goes in there."""
        cards = self.of(Kind.LIQUID, Kind.ADDITIVE)
        return tuple(card for card in cards if card.line.before_the_lye)

    @property
    def alkalis(self) -> tuple[CardLine, ...]:
        return self.of(Kind.ALKALI)

    def of(self, *kinds: Kind) -> tuple[CardLine, ...]:
        return tuple(card for card in self.lines if card.line.kind in kinds)

    def below(self, kind: Kind) -> Decimal:
        """Grams of that kind that were weighed on top of each other, before the lye."""
        usual = (card for card in self.of(kind) if not card.line.stage)
        noted = (weighing for card in usual for weighing in card.weighings)
        return sum((weighing.quantity for weighing in noted if weighing.on_top), Decimal(0))

    def find(self, line: int | None) -> CardLine | None:
        """The line of that id, or the next one that waits."""
        asked = (card for card in self.lines if card.line.pk == line)
        return next(asked, None) or next(iter(self.to_weigh), None)

    def taken_from(self) -> defaultdict[int, Decimal]:
        """Grams weighed out of each lot by its id, which stock does not know of yet."""
        taken: defaultdict[int, Decimal] = defaultdict(Decimal)
        for card in self.lines:
            for weighing in card.weighings:
                taken[weighing.lot_id] += weighing.quantity
        return taken

    def _noted(self) -> Iterator[Weighing]:
        return (weighing for card in self.lines for weighing in card.weighings)


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
class OnTop:
    """A pot or jug that is weighed into without zeroing the scale.

    `below` is what the book knows to be in it, `before` what the scale shows of it: the vessel itself may
    weigh too, or the scale have been zeroed on the way.
    """

    below: Decimal
    before: Decimal


@dataclass(frozen=True, slots=True)
class ToWeigh:
    """One line to weigh now. `lot` is None where the stock has nothing left to take.

    `amount` is what to weigh out of the lot; `on_top` is None where the scale is zeroed first.
    """

    card: CardLine
    choices: tuple[LotChoice, ...]
    lot: Lot | None
    amount: Decimal
    on_top: OnTop | None

    @property
    def line(self) -> Line:
        return self.card.line

    @property
    def shares_vessel(self) -> bool:
        """Fats share the pot and liquids the jug; everything else is weighed in a dish of its own."""
        return _shares_vessel(self.card)

    @property
    def reads(self) -> Decimal:
        """What the scale shows once it is weighed."""
        return self.amount + (self.on_top.before if self.on_top else 0)

    @property
    def rest(self) -> Decimal:
        """What is then still missing, to come from another lot."""
        return self.card.missing - self.amount


def bench(batch: Batch) -> Bench:
    """All that has been weighed of a batch, with the safety range of it. Three queries, one more where it is
    split."""
    recipe = FrozenRecipe.from_json(batch.frozen)
    lots = Prefetch("weighings", Weighing.objects.select_related("lot__material", "by").order_by("at", "pk"))
    lines = list(batch.lines.select_related("material").prefetch_related(lots))
    cards = tuple(CardLine(line, tuple(line.weighings.all())) for line in lines)
    started = any(card.weighings for card in cards if card.line.kind == Kind.FAT)
    safety, trouble = assessed(recipe, pot_of(recipe, lines)) if started else (None, "")
    split = splitting(recipe, lines, batch.jugs.all()) if recipe.split else None
    return Bench(batch, recipe, cards, safety, trouble, split)


def assessed(recipe: FrozenRecipe, pot: Pot) -> tuple[SafetyRange | None, str]:
    """The safety range of what is in the pot, or why there is none."""
    try:
        return assess_pot(recipe, pot), ""
    except FormulaError as error:
        return None, in_words(error.args[0])


def to_weigh(board: Bench, card: CardLine, lot: int | None = None, zero: Decimal | None = None) -> ToWeigh:
    """What to weigh for a line, out of the lot of that id or of the first to expire. One query.

    `zero` is given by makers who do not zero their scale between two things that share a vessel: the grams
    that it shows beyond what the book knows to be in there.
    """
    taken, today = board.taken_from(), timezone.localdate()
    lots = Lot.objects.in_stock().filter(material=card.line.material_id).to_use_first()
    choices = tuple(LotChoice(each, each.on_hand - taken[each.pk], each.expired_on(today)) for each in lots)
    choices = tuple(sorted(choices, key=lambda choice: not choice.usable))
    usable = [choice for choice in choices if choice.usable]
    chosen = next((choice for choice in usable if choice.lot.pk == lot), None) or next(iter(usable), None)
    amount = min(card.missing, chosen.free) if chosen else Decimal(0)
    return ToWeigh(card, choices, chosen.lot if chosen else None, amount, _on_top(board, card, zero))


def stamp_of(pk: int) -> str | None:
    """Changes whenever anything does that the bench shows of a batch; None where there is none. One query."""
    last_event = Event.objects.filter(batch=OuterRef("batch")).order_by("-pk").values("pk")[:1]
    filled = Jug.objects.filter(batch=OuterRef("batch")).order_by().values("batch")
    in_jugs = filled.annotate(told=Sum("grams", default=Decimal(0)) + Count("pk", filter=Q(dropped=True)))
    rows = (
        Line.objects.filter(batch__pk=pk)
        .order_by("pk")
        .annotate(count=Count("weighings"), newest=Max("weighings__pk"), event=Subquery(last_event))
        .annotate(jugs=Subquery(in_jugs.values("told")))
        .values_list("pk", "done", "count", "newest", "event", "jugs", "batch__state", "batch__lye_mixed_at")
    )
    told = repr(list(rows))
    return sha256(told.encode()).hexdigest()[:16] if rows else None


def _last(weighings: Iterable[Weighing]) -> Weighing | None:
    return max(weighings, key=lambda weighing: (weighing.at, weighing.pk), default=None)


def _counts_as(card: CardLine) -> Decimal:
    return card.weighed if card.line.done else max(card.weighed, card.line.planned)


def _shares_vessel(card: CardLine) -> bool:
    return card.line.kind in SHARING and not card.line.stage


def _on_top(board: Bench, card: CardLine, zero: Decimal | None) -> OnTop | None:
    if zero is None or not _shares_vessel(card):
        return None
    below = board.below(card.line.kind)
    return OnTop(below, below + zero)
