"""The record of a batch: what was planned, what went in out of which lots, and how it stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.core.paginator import Page, Paginator
from django.db.models import Prefetch, Q, QuerySet, TextChoices
from django.utils.translation import gettext_lazy as _

from batches.frozen import FrozenLine, FrozenRecipe
from batches.models import Batch, Cure, Line, State, Weighing
from batches.queries.balance import Balance, balance
from batches.queries.cure import CureRecord, cure_record
from batches.queries.picture import Picture, picture_of
from batches.splitting import Splitting, splitting
from recipes.models import Stage
from shared.money import cost_per_bar
from soapshop.core.models import History
from soapshop.core.queries import history_of

PER_PAGE = 25


class Standing(TextChoices):
    """How a batch stands, as a maker would say it."""

    PLANNED = "planned", _("Planned")
    POURED = "poured", _("To cut")
    CURING = "curing", _("Curing")
    READY = "ready", _("Ready")
    GONE = "gone", _("All gone")
    DROPPED = "dropped", _("Dropped")
    UNDONE = "undone", _("Undone")


@dataclass(frozen=True, slots=True)
class RecordLine:
    """A line of the card as it was frozen, with what was weighed for it and out of which lots."""

    frozen: FrozenLine
    line: Line
    uses: tuple[Weighing, ...]

    @property
    def weighed(self) -> Decimal:
        return sum((use.quantity for use in self.uses), Decimal(0))

    @property
    def lots(self) -> tuple[str, ...]:
        """The codes of the lots, each once."""
        return tuple(dict.fromkeys(use.lot.code for use in self.uses))

    @property
    def difference(self) -> Decimal:
        """Grams above (or below) the plan; of what was added beyond it, all."""
        return self.weighed - (Decimal(0) if self.line.extra else self.line.planned)


@dataclass(frozen=True, slots=True)
class BatchRecord:
    """Everything that the page of a batch shows."""

    batch: Batch
    standing: Standing
    recipe: FrozenRecipe
    picture: Picture
    lines: tuple[RecordLine, ...]
    cure: CureRecord | None
    history: QuerySet[History]
    split: Splitting | None
    balance: Balance | None

    @property
    def poured(self) -> bool:
        return self.batch.poured_at is not None

    @property
    def total(self) -> Decimal:
        """Grams that went into the pot and the jugs."""
        return sum((line.weighed for line in self.lines if line.line.stage != Stage.TOP), Decimal(0))

    @property
    def lots(self) -> int:
        return len({use.lot_id for line in self.lines for use in line.uses})

    @property
    def can_be_undone(self) -> bool:
        return self.batch.state == State.POURED

    @property
    def bar_cost(self) -> Decimal | None:
        """Cost of the materials in a bar: of those cut, or as long as it is not cut, of those planned."""
        if self.batch.cost is None:
            return None
        cut = self.cure.cure.bars_cut if self.cure else None
        return cost_per_bar(self.batch.cost, cut or self.batch.bars_planned)


@dataclass(frozen=True, slots=True)
class BatchRow:
    """A batch in a list."""

    batch: Batch
    standing: Standing
    picture: Picture


def batch_of(pk: int) -> Batch:
    """The batch with its cure and those who planned and poured it. Raises Batch.DoesNotExist."""
    return Batch.objects.select_related("version__recipe", "planned_by", "poured_by", "cure").get(pk=pk)


def batch_record(batch: Batch, today: date) -> BatchRecord:
    """The record of a batch that was fetched by `batch_of`. At most eight queries, one more where it is
    split."""
    recipe = FrozenRecipe.from_json(batch.frozen)
    cure, lines = _cure_of(batch), list(_lines(batch))
    split = splitting(recipe, lines, batch.jugs.select_related("lot")) if recipe.split else None
    return BatchRecord(
        batch=batch,
        standing=standing_of(batch, today),
        recipe=recipe,
        picture=picture_of(batch),
        lines=tuple(_line(recipe, line) for line in lines),
        cure=cure_record(cure, today) if cure else None,
        history=history_of(batch, limit=40),
        split=split,
        balance=balance(lines, split, cure),
    )


def batch_rows(
    *, today: date, search: str = "", page: str | None = None, per_page: int = PER_PAGE
) -> Page[BatchRow]:
    """Batches, the newest first, found by number, recipe or a lot that went in. At most two queries."""
    batches = Batch.objects.select_related("cure")
    if search:
        lots = Q(lot__code__icontains=search) | Q(lot__supplier_code__icontains=search)
        used_in = Weighing.objects.filter(lots).values("line__batch")
        named = Q(code__icontains=search) | Q(version__recipe__name__icontains=search)
        batches = batches.filter(named | Q(pk__in=used_in))
    found = Paginator(batches.order_by("-planned_for", "-pk"), per_page).get_page(page)
    # A page is a page of whatever its list holds; the stubs let it hold models only.
    rows: Page[BatchRow] = found  # type: ignore[assignment]
    rows.object_list = [BatchRow(one, standing_of(one, today), picture_of(one)) for one in found.object_list]
    return rows


def standing_of(batch: Batch, today: date) -> Standing:
    """How a batch stands on a day. It was fetched with its cure."""
    if batch.state != State.CUT:
        return Standing(batch.state)
    if not batch.cure.bars_left:
        return Standing.GONE
    return Standing.READY if batch.cure.ready_on <= today else Standing.CURING


def _cure_of(batch: Batch) -> Cure | None:
    """The cure that goes on; that of a pour which was undone has ended."""
    return batch.cure if batch.state in (State.POURED, State.CUT) else None


def _lines(batch: Batch) -> QuerySet[Line]:
    lots = Weighing.objects.select_related("lot__delivery__supplier", "by").order_by("at", "pk")
    return batch.lines.select_related("material").prefetch_related(Prefetch("weighings", lots))


def _line(recipe: FrozenRecipe, line: Line) -> RecordLine:
    return RecordLine(recipe.line_for(line), line, tuple(line.weighings.all()))
