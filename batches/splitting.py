"""A bucket that is being split: what is in which jug, and what the others get of what remains.

Pure reckoning on rows that were fetched: what was planned is frozen, what was done stands in the jugs, and
all that is still open is solved anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils.translation import gettext

from batches.frozen import FrozenRecipe
from batches.frozen_split import FrozenPortion, FrozenSplit
from batches.models import Jug, Line, Weighing
from recipes.models import Destination, Stage
from shared import portions as shared
from soapshop.core.words import in_words


@dataclass(frozen=True, slots=True)
class Stir:
    """What goes into a jug besides batter: the grams to weigh, and what was weighed."""

    line: Line
    grams: Decimal
    weighed: Decimal


@dataclass(frozen=True, slots=True)
class JugCard:
    """A jug. `grams` is the batter to take, or that it holds; None where it cannot be told yet.

    `portion` is what was planned, None for a jug added at the bench. Height in mm, vessel in mL.
    """

    jug: Jug
    portion: FrozenPortion | None
    grams: Decimal | None
    stir: tuple[Stir, ...]
    height_mm: float | None = None
    vessel_ml: float | None = None

    @property
    def total(self) -> Decimal:
        """With all that was stirred in."""
        return (self.grams or Decimal(0)) + sum((one.weighed for one in self.stir), Decimal(0))

    @property
    def changed(self) -> bool:
        """Whether something else is in it, or shall go in, than was planned."""
        return self.jug.planned is not None and self.grams is not None and self.grams != self.jug.planned

    @property
    def leads_to(self) -> str:
        """Where it is poured."""
        if self.jug.destination == Destination.OTHER and self.portion and self.portion.mould:
            return gettext("into %(mould)s") % {"mould": self.portion.mould}
        return str(self.jug.get_destination_display()).lower()


@dataclass(frozen=True, slots=True)
class Splitting:
    """All jugs of a batch in the order of pouring.

    `batter` is what is in the bucket before anything is taken, in grams; `left_over` what no jug takes.
    `trouble` says why the open jugs cannot be told.
    """

    cards: tuple[JugCard, ...]
    batter: Decimal
    left_over: Decimal
    trouble: str = ""

    @property
    def taken(self) -> Decimal:
        return sum((card.jug.grams for card in self.cards if card.jug.grams), Decimal(0))

    @property
    def remains(self) -> Decimal:
        return max(self.batter - self.taken, Decimal(0))

    @property
    def open(self) -> tuple[JugCard, ...]:
        return tuple(card for card in self.cards if card.jug.is_open)

    @property
    def done(self) -> int:
        return len(self.cards) - len(self.open)

    @property
    def next(self) -> JugCard | None:
        return next(iter(self.open), None)

    def find(self, jug: int | None) -> JugCard | None:
        """The jug of that id, or the next one that is open."""
        return next((card for card in self.cards if card.jug.pk == jug), None) or self.next


def splitting(
    recipe: FrozenRecipe,
    lines: Sequence[Line],
    jugs: Iterable[Jug],
    asked: Mapping[int, Decimal] | None = None,
) -> Splitting | None:
    """How it stands; None for a batch that is not split. `asked` are grams to try for open jugs by id.

    `lines` with their materials and weighings fetched.
    """
    split = recipe.split
    if split is None:
        return None
    jugs, batter = list(jugs), batter_of(lines)
    held = {jug.name: jug.grams for jug in jugs if jug.grams is not None}
    held |= {jug.name: (asked or {})[jug.pk] for jug in jugs if jug.is_open and jug.pk in (asked or {})}
    plan = _plan(split, recipe, max(batter, sum(held.values(), Decimal(0))), jugs, held)
    try:
        solved = shared.resolve(plan, held)
    except shared.PortionError as error:
        cards = tuple(_card(jug, split, plan, lines, held.get(jug.name)) for jug in jugs)
        return Splitting(cards, batter, Decimal(0), in_words(error.args[0]))
    held |= {jug.portion.name: jug.grams for jug in solved.jugs}
    cards = tuple(_card(jug, split, plan, lines, held.get(jug.name)) for jug in jugs)
    return Splitting(cards, batter, solved.left_over)


def batter_of(lines: Iterable[Line]) -> Decimal:
    """Grams in the bucket: what was weighed into the whole batter, and what is still to come of it."""
    return sum(
        (_counts(line) for line in lines if line.stage not in (Stage.JUG, Stage.TOP)),
        Decimal(0),
    )


def weighed(weighings: Iterable[Weighing]) -> Decimal:
    return sum((weighing.quantity for weighing in weighings), Decimal(0))


def _counts(line: Line) -> Decimal:
    found = weighed(line.weighings.all())
    return found if line.done else max(found, line.planned)


def _plan(
    split: FrozenSplit,
    recipe: FrozenRecipe,
    batter: Decimal,
    jugs: Sequence[Jug],
    held: Mapping[str, Decimal],
) -> shared.Plan:
    """The plan for the batter that there is, with the jugs that were added and without those left out."""
    plan = split.plan(recipe.scale, batter=float(batter), without=[jug.name for jug in jugs if jug.dropped])
    added = (
        shared.Portion(jug.name, grams=float(held[jug.name]), destination=jug.destination, order=jug.position)
        for jug in jugs
        if jug.planned is None and jug.name in held
    )
    return replace(plan, portions=(*plan.portions, *added))


def _card(
    jug: Jug, split: FrozenSplit, plan: shared.Plan, lines: Sequence[Line], grams: Decimal | None
) -> JugCard:
    portion = split.named(jug.name)
    height = vessel = None
    if grams is not None and plan.density:
        volume = float(grams) / plan.density
        vessel = volume * (1 + shared.VESSEL_SPARE)
        in_mould = jug.destination == Destination.MOULD
        height = volume * 1000 / plan.area_mm2 if plan.area_mm2 and in_mould else None
    stir = tuple(_stirs(jug, portion, plan, lines, grams)) if portion else ()
    return JugCard(jug, portion, grams, stir, height, vessel)


def _stirs(
    jug: Jug, portion: FrozenPortion, plan: shared.Plan, lines: Sequence[Line], grams: Decimal | None
) -> Iterable[Stir]:
    meant = next((one for one in plan.portions if one.name == portion.name), None)
    to_weigh = dict(shared.stirred_in(plan, meant, grams)) if meant and grams is not None else {}
    by_material = {line.material_id: line for line in lines}
    for into in portion.into:
        line = by_material.get(into.material)
        if line is not None:
            mine = [weighing for weighing in line.weighings.all() if weighing.jug_id == jug.pk]
            yield Stir(line, to_weigh.get(into.name, Decimal(0)), weighed(mine))
