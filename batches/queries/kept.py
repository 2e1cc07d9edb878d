"""Batter that was kept back and waits to be poured."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from batches.frozen import FrozenRecipe
from batches.models import Batch, Jug, Line
from batches.queries.weighing import assessed
from batches.safety import pot_from
from inventory.models import Lot, LotQuerySet
from recipes.models import NATURAL
from shared.bar_picture import BarPicture
from shared.cross_section import Layer
from shared.saponification import SafetyRange, Verdict


@dataclass(frozen=True, slots=True)
class Kept:
    """Batter that a batch kept back in a jug, and the lot that holds it."""

    jug: Jug
    lot: Lot
    too_old: bool

    @property
    def batch(self) -> Batch:
        """The one that it comes from."""
        return self.jug.batch

    @property
    def usable(self) -> bool:
        return self.lot.on_hand > 0 and not self.too_old

    @property
    def look(self) -> BarPicture:
        return look_of(self.jug)


@dataclass(frozen=True, slots=True)
class SmallBatch:
    """What a small batch of all that is left would be: how safe it is, and bars as large as its batch's.

    `safety` is None where `trouble` says why, and where nothing is left.
    """

    kept: Kept
    recipe: FrozenRecipe
    safety: SafetyRange | None
    trouble: str

    @property
    def bars(self) -> int:
        bar = self.recipe.batter / self.recipe.bars
        return max(int(self.kept.lot.on_hand / bar), 1)

    @property
    def stopped(self) -> bool:
        return self.safety is not None and self.safety.verdict == Verdict.STOP


def look_of(jug: Jug) -> BarPicture:
    """A bar of nothing but what is in a jug."""
    colour = jug.colour or jug.batch.frozen.get("bar_colour") or NATURAL
    return BarPicture(layers=(Layer(colour, 1.0, jug.name),))


def kept_back(today: date) -> list[Kept]:
    """All batter that is still there, what has to be poured first in front. One query."""
    lots = _lots().in_stock().order_by("best_before", "pk")
    return [Kept(lot.jug, lot, lot.expired_on(today)) for lot in lots]


def small_batch(lot_pk: int, today: date) -> SmallBatch:
    """What batter of that lot would be poured alone. Raises Lot.DoesNotExist for what was not kept back."""
    lot = _lots().get(pk=lot_pk)
    kept = Kept(lot.jug, lot, lot.expired_on(today))
    recipe = FrozenRecipe.from_json(kept.batch.frozen)
    if not lot.on_hand:
        return SmallBatch(kept, recipe, None, "")
    line = Line(material=lot.material, planned=lot.on_hand)
    return SmallBatch(kept, recipe, *assessed(recipe, pot_from(recipe, [(line, lot.on_hand, lot)])))


def _lots() -> LotQuerySet:
    kept = Lot.objects.filter(jug__isnull=False)
    return kept.select_related("material", "jug__batch__version__recipe")
