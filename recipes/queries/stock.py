"""What a recipe takes from the shelf, what the shelf lacks, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import COUNTED, Kind, Lot, Material
from inventory.queries import current_certificates, last_prices, lots_to_use
from recipes.design import WHOLE, Design
from recipes.formulation import WeighLine, WorkedOut, work_out
from recipes.models import Recipe
from recipes.queries.taught import densities_of, taught
from recipes.scent import Scent, scent_of
from shared.money import cost_of, cost_per_bar, fifo
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import trimmed

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

SECTIONS = (
    (_("Fat"), {Kind.FAT}),
    (_("Lye"), {Kind.ALKALI, Kind.LIQUID}),
    (_("Scent, colour, additives"), {Kind.FRAGRANCE, Kind.COLOUR, Kind.ADDITIVE}),
    (_("On top"), {Kind.EMBED, Kind.TOPPING}),
    (_("Packaging"), {Kind.PACKAGING}),
)


@dataclass(frozen=True, slots=True)
class Need:
    """A line of the card against the shelf. In grams, of packaging in pieces.

    `on_hand` counts what keeps until the day; `portions` are the lots to take from, in their order.
    """

    line: WeighLine
    on_hand: Decimal
    short: Decimal
    portions: tuple[tuple[Lot, Decimal], ...]

    @property
    def material(self) -> Material:
        return self.line.material

    @property
    def needed(self) -> Decimal:
        return self.line.grams

    @property
    def when(self) -> str:
        """When it goes in, where that is not when such things usually do."""
        stage = self.line.part.stage
        return str(stage.label).lower() if stage else ""

    @property
    def share(self) -> str:
        """What the recipe says of it; nothing for what is alone of its kind anyway."""
        kind, share = self.line.kind, trimmed(self.line.share)
        if kind in COUNTED:
            return gettext("%(pieces)s a bar") % {"pieces": share}
        if kind == Kind.TOPPING:
            return gettext("%(grams)s g a bar") % {"grams": share}
        if kind in {Kind.ALKALI, Kind.LIQUID} and self.line.share == WHOLE:
            return ""
        if kind == Kind.ALKALI:
            return gettext("%(share)s %% of alkali") % {"share": share}
        if kind == Kind.LIQUID:
            return gettext("%(share)s %% of liquid") % {"share": share}
        return f"{share} %"


@dataclass(frozen=True, slots=True)
class Section:
    """Lines of the card that belong together."""

    title: StrOrPromise
    needs: tuple[Need, ...]


@dataclass(frozen=True, slots=True)
class CostLine:
    """What a line costs, and where the price is from; `amount` is None where no price is known."""

    need: Need
    amount: Decimal | None
    source: str


@dataclass(frozen=True, slots=True)
class Cost:
    """In the workshop's currency, not rounded. Materials without a price count as nothing and are named."""

    lines: tuple[CostLine, ...]
    total: Decimal
    bar: Decimal

    @property
    def unpriced(self) -> tuple[Material, ...]:
        return tuple(line.need.material for line in self.lines if line.amount is None)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A design worked out with the lots that would be used first, against the shelf, with its cost.

    `scent` is what is found of its fragrances; None where there are none.
    """

    worked_out: WorkedOut
    needs: tuple[Need, ...]
    cost: Cost
    scent: Scent | None = None

    @property
    def sections(self) -> tuple[Section, ...]:
        found = (
            Section(title, tuple(need for need in self.needs if need.line.kind in kinds))
            for title, kinds in SECTIONS
        )
        return tuple(section for section in found if section.needs)


def sheet(design: Design, *, workshop: Workshop, day: date, recipe: Recipe | None = None) -> Sheet:
    """Work a design out at its own size for a day, as the earlier pours of its `recipe` have taught.

    Two queries, one more with a mould, and three with fragrances. Raises DesignError.
    """
    materials = [material.pk for material in design.materials]
    shelf = lots_to_use(materials, day)
    first = {material: lots[0] for material, lots in shelf.items()}
    densities = densities_of(design.mould, recipe)
    worked_out = work_out(design, workshop=workshop, lots=first, densities=densities)
    found = _needs(worked_out, shelf)
    cost_of_it = _cost(found, last_prices(materials), worked_out.bars)
    return Sheet(worked_out, found, cost_of_it, scent(worked_out, day))


def scent(worked_out: WorkedOut, day: date) -> Scent | None:
    """What is found of the fragrances, by the certificates of that day.

    None without any; else one query, one more with certificates, and one with vanillin in them.
    """
    fragrances = [line.material.pk for line in worked_out.of(Kind.FRAGRANCE)]
    if not fragrances:
        return None
    certificates = current_certificates(fragrances, day)
    browns = any(one.vanillin for one in certificates.values())
    return scent_of(worked_out, certificates, taught() if browns else ())


def needs(worked_out: WorkedOut, day: date) -> tuple[Need, ...]:
    """What the card takes from the lots that keep until that day, in weighing order. One query."""
    return _needs(worked_out, lots_to_use(_materials(worked_out.lines), day))


def cost(found: Sequence[Need], bars: int) -> Cost:
    """Cost out of the lots to be used, and for what they lack at the price last paid. One query."""
    return _cost(found, last_prices(_materials(need.line for need in found)), bars)


def _materials(lines: Iterable[WeighLine]) -> list[int]:
    return [line.material.pk for line in lines]


def _needs(worked_out: WorkedOut, shelf: Mapping[int, Sequence[Lot]]) -> tuple[Need, ...]:
    return tuple(_need(line, shelf.get(line.material.pk, ())) for line in worked_out.lines)


def _need(line: WeighLine, lots: Sequence[Lot]) -> Need:
    portions, short = fifo([(lot, lot.on_hand) for lot in lots], line.grams)
    on_hand = sum((lot.on_hand for lot in lots), Decimal(0))
    return Need(line, on_hand, short, tuple(portions))


def _cost(found: Sequence[Need], prices: Mapping[int, Decimal], bars: int) -> Cost:
    lines = tuple(_cost_line(need, prices.get(need.material.pk)) for need in found)
    total = sum((line.amount for line in lines if line.amount is not None), Decimal(0))
    return Cost(lines, total, cost_per_bar(total, bars))


def _cost_line(need: Need, last_price: Decimal | None) -> CostLine:
    taken = [(grams, lot.unit_cost) for lot, grams in need.portions]
    codes = ", ".join(lot.code for lot, _ in need.portions)
    if not need.short:
        return CostLine(need, cost_of(taken), gettext("lot %(codes)s") % {"codes": codes})
    if last_price is None:
        return CostLine(need, None, gettext("never bought"))
    source = (
        gettext("lot %(codes)s, the rest at the price last paid") % {"codes": codes}
        if codes
        else gettext("price last paid")
    )
    return CostLine(need, cost_of([*taken, (need.short, last_price)]), source)
