"""Before and at the end of the weighing: what can be poured, what a plan needs, what a pour would book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.core.paginator import Page
from django.db.models import Case, Count, Q, QuerySet, When
from django.utils import timezone

from batches.models import Batch, Line
from batches.queries.kept import Kept, kept_back
from batches.queries.picture import Picture, picture_of
from batches.queries.weighing import Bench, CardLine, assessed
from batches.safety import pot_from
from batches.services.plan import Plan, draw_up
from inventory.models import Behaviour, Kind, Lot
from inventory.queries import lots_to_use, misbehaved
from recipes.formulation import Size
from recipes.models import Stage, Version
from recipes.queries import Cost, Need, RecipeRow, Sheet, cost, needs, recipe_rows
from shared.money import fifo
from shared.saponification import SafetyRange, Verdict

MOST_OPEN = 20


@dataclass(frozen=True, slots=True)
class OpenPour:
    """A batch that is planned or being weighed, with how many lines of its card are done."""

    batch: Batch
    picture: Picture
    done: int
    total: int


@dataclass(frozen=True, slots=True)
class PourList:
    """Batches to go on with, those begun before others, batter kept back, and recipes to start from."""

    open: tuple[OpenPour, ...]
    kept: tuple[Kept, ...]
    recipes: Page[RecipeRow]


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """A plan against the shelf, with its cost; `behaviours` are those of fragrances that misbehaved."""

    plan: Plan
    needs: tuple[Need, ...]
    cost: Cost
    behaviours: tuple[Behaviour, ...] = ()

    @property
    def short(self) -> tuple[Need, ...]:
        """What of the batter is short; packaging comes after the cure, so a pour does not wait for it."""
        return tuple(need for need in self.weighed if need.short > 0)

    @property
    def weighed(self) -> tuple[Need, ...]:
        return tuple(need for need in self.needs if need.line.kind != Kind.PACKAGING)

    @property
    def packaging(self) -> tuple[Need, ...]:
        return tuple(need for need in self.needs if need.line.kind == Kind.PACKAGING)

    @property
    def as_sheet(self) -> Sheet:
        """The same as a recipe would be shown at this size."""
        return Sheet(self.plan.worked_out, self.needs, self.cost, self.plan.scent)


@dataclass(frozen=True, slots=True)
class Use:
    """What leaves a lot with the pour. `planned` marks what is taken as planned, not weighed."""

    lot: Lot
    quantity: Decimal
    planned: bool


@dataclass(frozen=True, slots=True)
class PourLine:
    """A line of the card as it would be booked; `short` is what no lot can give."""

    card: CardLine
    uses: tuple[Use, ...]
    short: Decimal

    @property
    def total(self) -> Decimal:
        return sum((use.quantity for use in self.uses), Decimal(0))

    @property
    def portions(self) -> list[tuple[Line, Decimal, Lot | None]]:
        """What goes into the pot for it, and what no lot can give as if it came all the same."""
        known: list[tuple[Line, Decimal, Lot | None]] = [
            (self.card.line, use.quantity, use.lot) for use in self.uses
        ]
        return [*known, (self.card.line, self.short, None)] if self.short else known

    @property
    def difference(self) -> Decimal:
        """Grams above (or below) the plan."""
        return self.total - self.card.line.planned

    @property
    def differs(self) -> bool:
        """Whether a line of the plan was weighed otherwise than planned."""
        return bool(self.difference) and not (self.short or self.card.left_out or self.card.line.extra)


@dataclass(frozen=True, slots=True)
class Pouring:
    """All that a pour would book, and how safe it is, or in `trouble` why that cannot be said."""

    lines: tuple[PourLine, ...]
    safety: SafetyRange | None
    trouble: str

    @property
    def total(self) -> Decimal:
        """Grams in the pot and the jugs, without what goes on top."""
        return sum((line.total for line in self.lines if line.card.line.stage != Stage.TOP), Decimal(0))

    @property
    def stopped(self) -> bool:
        return self.safety is not None and self.safety.verdict == Verdict.STOP

    @property
    def short(self) -> tuple[PourLine, ...]:
        return tuple(line for line in self.lines if line.short > 0)


def pour_list(*, search: str, page: str | None) -> PourList:
    """Batches that wait to be poured, batter kept back, and recipes to plan from. Six queries."""
    return PourList(
        tuple(open_pour(batch) for batch in open_batches()),
        tuple(kept_back(timezone.localdate())),
        recipe_rows(search=search, page=page),
    )


def plan_sheet(version: Version, size: Size, day: date) -> PlanSheet:
    """A version worked out to a size, against what keeps until that day. Raises DesignError."""
    plan = draw_up(version, size, day)
    found = needs(plan.worked_out, day)
    behaviours = misbehaved([line.material.pk for line in plan.worked_out.of(Kind.FRAGRANCE)])
    return PlanSheet(plan, found, cost(found, plan.worked_out.bars), behaviours)


def pouring(board: Bench, *, as_planned: bool, day: date) -> Pouring:
    """What the pour would book; `as_planned` takes what waits from the lots first to expire. One query."""
    waiting = [card.line.material_id for card in board.waiting] if as_planned else []
    shelf = lots_to_use(waiting, day)
    taken = board.taken_from()
    free = {lot.pk: max(lot.on_hand - taken[lot.pk], Decimal(0)) for lots in shelf.values() for lot in lots}
    lines = tuple(_pour_line(card, shelf.get(card.line.material_id, []), free) for card in board.lines)
    portions = [portion for line in lines for portion in line.portions]
    return Pouring(lines, *assessed(board.recipe, pot_from(board.recipe, portions)))


def open_batches() -> QuerySet[Batch]:
    """Batches that wait to be poured, those begun in front, then by the day they are planned for."""
    done = Count("lines", filter=Q(lines__done=True))
    counted = Batch.objects.open().annotate(done=done, total=Count("lines"))
    begun_first = Case(When(done__gt=0, then=0), default=1)
    return counted.order_by(begun_first, "planned_for", "pk")[:MOST_OPEN]


def open_pour(batch: Batch) -> OpenPour:
    # `done` and `total` are annotations of open_batches().
    return OpenPour(batch, picture_of(batch), batch.done, batch.total)  # type: ignore[attr-defined]


def _pour_line(card: CardLine, lots: list[Lot], free: Mapping[int, Decimal]) -> PourLine:
    weighed = tuple(Use(weighing.lot, weighing.quantity, planned=False) for weighing in card.weighings)
    if card.line.done:
        return PourLine(card, weighed, Decimal(0))
    portions, short = fifo([(lot, free[lot.pk]) for lot in lots], card.missing)
    return PourLine(card, (*weighed, *(Use(lot, grams, planned=True) for lot, grams in portions)), short)
