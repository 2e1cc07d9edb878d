"""The safety range of a batch from what is in the pot: what was weighed, and for the rest what is planned."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Sum

from batches.frozen import FrozenLine, FrozenRecipe
from batches.models import Line, Weighing
from inventory.models import Kind, Lot
from inventory.queries.made import share
from recipes.models import Stage
from shared.chemistry import AcidKind, AlkaliKind
from shared.saponification import (
    Acid,
    Alkali,
    Correction,
    Fat,
    FatOnHand,
    SafetyRange,
    assess,
    restore,
)


@dataclass(frozen=True, slots=True)
class Pot:
    """All that reacts, and the liquid it is in. Weights in grams."""

    fats: tuple[Fat, ...]
    alkalis: tuple[Alkali, ...]
    acids: tuple[Acid, ...]
    liquid: float


def pot_of(frozen: FrozenRecipe, lines: Iterable[Line]) -> Pot:
    """Gathers fats, alkalis and acids. `lines` with their weighings and the weighings' lots fetched.

    A line that has been weighed counts as weighed, by lot and the lot's certificate; another as planned.
    """
    return pot_from(frozen, ((line, grams, lot) for line in lines for grams, lot in _portions(line)))


def pot_from(frozen: FrozenRecipe, portions: Iterable[tuple[Line, Decimal, Lot | None]]) -> Pot:
    """Gathers fats, alkalis and acids from grams for a line, each out of a lot where that is known.

    A liquid with fat in it counts as a fat of little saponification value, one with acid as an acid too.
    """
    fats: list[Fat] = []
    alkalis: list[Alkali] = []
    acids: list[Acid] = []
    liquid = 0.0
    for line, grams, lot, part in _expanded(portions):
        known, step = frozen.line_for(line), float(frozen.scale.step_for(float(grams) / part)) * part
        if known.kind == Kind.FAT or (known.sap and known.kind != Kind.ALKALI):
            fats.append(_fat(known, grams, lot, step))
        if known.kind == Kind.ALKALI:
            alkalis.append(_alkali(known, grams, lot, step))
        elif known.kind == Kind.LIQUID:
            liquid += float(grams)
        if known.acid:
            acids.append(Acid(AcidKind(known.acid), float(grams), known.acid_percent, step))
    return Pot(tuple(fats), tuple(alkalis), tuple(acids), liquid)


def _expanded(
    portions: Iterable[tuple[Line, Decimal, Lot | None]],
) -> Iterator[tuple[Line, Decimal, Lot | None, float]]:
    """Batter that was kept back counts as all that is in it, each out of its own lot.

    With each comes which part of what was once on the scale it is, from 0 to 1: a scale that was off by a
    gram for a whole pot is off by a tenth of that in a tenth of it.
    """
    for line, grams, lot in portions:
        if line.kind != Kind.BATTER or lot is None:
            yield line, grams, lot, 1.0
            continue
        part = _part_of_its_pot(lot, grams)
        for base, held in share(lot, grams):
            yield Line(material=base.material, planned=held), held, base, part


def _part_of_its_pot(lot: Lot, grams: Decimal) -> float:
    """Which part so much batter is of all that was in the pot when it was kept back."""
    weighings = Weighing.objects.filter(line__batch__jugs__lot=lot)
    in_pot = weighings.exclude(line__stage__in=[Stage.JUG, Stage.TOP])
    pot = in_pot.aggregate(total=Sum("quantity", default=Decimal(0)))["total"]
    return float(min(grams / pot, Decimal(1))) if pot else 1.0


def assess_pot(frozen: FrozenRecipe, pot: Pot) -> SafetyRange:
    return assess(pot.fats, pot.alkalis, pot.acids, scale_step=float(frozen.scale_step), limits=frozen.limits)


def ways_back(
    frozen: FrozenRecipe, pot: Pot, on_hand: Iterable[tuple[Lot, Decimal]]
) -> tuple[Correction, ...]:
    """What to add to bring the pot back to the superfat aimed at.

    `on_hand` are lots of fats, their material fetched, with the grams that each can still give.
    """
    fats = [
        # As in the pot, a lot without a certificate shares the uncertainty of its fat.
        FatOnHand(lot.material.name, lot.saponification_value, float(free), lot.code if lot.sap else "")
        for lot, free in on_hand
        if lot.saponification_value is not None
    ]
    return restore(
        pot.fats,
        pot.alkalis,
        pot.acids,
        superfat=float(frozen.superfat),
        on_hand=fats,
        liquid_grams=pot.liquid,
        scale_step=float(frozen.scale_step),
        limits=frozen.limits,
    )


def _portions(line: Line) -> Iterator[tuple[Decimal, Lot | None]]:
    weighings = list(line.weighings.all())
    for weighing in weighings:
        yield weighing.quantity, weighing.lot
    still_to_come = line.planned - sum((weighing.quantity for weighing in weighings), Decimal(0))
    if not line.done and still_to_come > 0:
        yield still_to_come, None


def _fat(known: FrozenLine, grams: Decimal, lot: Lot | None, step: float) -> Fat:
    certified = lot.saponification_value if lot is not None and lot.sap is not None else None
    sap = certified or known.sap
    if sap is None:
        raise ValueError(f"{known.name} has no saponification value.")
    # Without a certificate two lots of a fat count as one uncertain value: the wider, safer reading.
    return Fat(known.name, float(grams), sap, lot.code if lot and certified else "", step=step)


def _alkali(known: FrozenLine, grams: Decimal, lot: Lot | None, step: float) -> Alkali:
    certified = lot.purity_range if lot is not None and lot.purity is not None else None
    purity = certified or known.purity
    if purity is None:
        raise ValueError(f"{known.name} has no purity.")
    return Alkali(AlkaliKind(known.alkali), float(grams), *purity, known.dissolved, step)
