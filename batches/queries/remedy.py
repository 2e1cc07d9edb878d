"""The way back: what to add to a pot that is not safe, or fatter than its recipe."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from uuid import UUID, uuid4

from django.utils import timezone

from batches.queries.weighing import Bench, CardLine
from batches.safety import pot_of, ways_back
from inventory.models import Kind, Lot, LotQuerySet
from recipes.formulation import to_scale
from shared.chemistry import AlkaliKind
from shared.saponification import Correction, Verdict

MOST_WAYS = 3


@dataclass(frozen=True, slots=True)
class Addition:
    """Grams of a material to add to the pot, out of a lot that has them.

    `waits` says that the planned weight of it is still to come, so that it goes in together with that.
    `key` names the deed, so that it counts once.
    """

    lot: Lot
    grams: Decimal
    waits: bool
    key: UUID = field(default_factory=uuid4)


@dataclass(frozen=True, slots=True)
class Remedy:
    """What makes the pot right again. Of fats any one will do; lye goes in with its liquid."""

    more_lye: bool
    additions: tuple[Addition, ...]


def remedy(board: Bench) -> Remedy:
    """The ways back to the superfat aimed at and a safe pot; none where it needs none. At most one query.

    Fats of the card go before others on the shelf, so that the recipe stays what it is.
    """
    if board.safety is None:
        return Remedy(more_lye=False, additions=())
    if board.safety.verdict == Verdict.SAFE:
        return _more_lye(board)
    shelf = _shelf(board, Lot.objects.filter(material__kind=Kind.FAT))
    on_card = {card.line.material_id for card in board.lines}
    own = [(lot, free) for lot, free in shelf if lot.material_id in on_card]
    return Remedy(more_lye=False, additions=_fats(board, own) or _fats(board, shelf))


def _shelf(board: Bench, lots: LotQuerySet) -> list[tuple[Lot, Decimal]]:
    """Of each material the lot that can give most, with what it can give beyond the card."""
    taken = board.taken_from()
    kept = {card.line.material_id: card.missing for card in board.waiting}
    fullest: dict[int, tuple[Lot, Decimal]] = {}
    for lot in lots.usable_on(timezone.localdate()).select_related("material"):
        free = lot.on_hand - taken[lot.pk] - kept.get(lot.material_id, Decimal(0))
        if free > max(fullest.get(lot.material_id, (lot, Decimal(0)))[1], Decimal(0)):
            fullest[lot.material_id] = (lot, free)
    return list(fullest.values())


def _ways(board: Bench, shelf: list[tuple[Lot, Decimal]]) -> list[Correction]:
    pot = pot_of(board.recipe, [card.line for card in board.lines])
    return [way for way in ways_back(board.recipe, pot, shelf) if way.enough]


def _fats(board: Bench, shelf: list[tuple[Lot, Decimal]]) -> tuple[Addition, ...]:
    by_name = {lot.material.name: lot for lot, _ in shelf}
    ways = _ways(board, shelf)[:MOST_WAYS]
    return tuple(_addition(board, by_name[way.name], way.grams) for way in ways)


def _more_lye(board: Bench) -> Remedy:
    """What to add to a pot that is fatter than its recipe, where the stock has it."""
    way = next(iter(_ways(board, [])), None)
    if way is None:
        return Remedy(more_lye=True, additions=())
    alkali = next(card.line for card in board.alkalis if _is_of(board, card, way))
    wanted = {alkali.material_id: way.grams}
    liquids = (card.line for card in board.in_the_jug if card.line.kind == Kind.LIQUID)
    if liquid := next(liquids, None):
        wanted[liquid.material_id] = way.liquid_grams
    shelf = _shelf(board, Lot.objects.filter(material__in=wanted))
    found = [
        _addition(board, lot, wanted[lot.material_id])
        for lot, free in shelf
        if free >= wanted[lot.material_id]
    ]
    return Remedy(more_lye=True, additions=tuple(found) if len(found) == len(wanted) else ())


def _is_of(board: Bench, card: CardLine, way: Correction) -> bool:
    """Whether this is the alkali to add: dry and ready-made lye of one kind are weighed differently."""
    label = AlkaliKind(card.line.material.alkali).label
    dissolved = board.recipe.line_for(card.line).dissolved
    return not card.left_out and (label, dissolved) == (way.name, way.dissolved)


def _addition(board: Bench, lot: Lot, grams: float) -> Addition:
    waits = any(card.line.material_id == lot.material_id for card in board.waiting)
    return Addition(lot, to_scale(grams, board.recipe.scale_step), waits)
