"""What a maker says about the portions of a batter, and the checks that keep nonsense out of it.

Weights are grams, shares %, lengths mm, densities g/mL. The batter is weighed before the fragrances,
colours and additives of single portions go in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NamedTuple

from shared.ingredients import MAX_GRAMS
from shared.moulds import LARGEST_MM
from shared.scaling import Scale
from shared.words import Phrase

MOULD: Final = "mould"
KEPT_BACK: Final = "kept back"
LIGHTEST, HEAVIEST = 0.1, 5.0
"""g/mL; beyond these a density of batter is a slip of the pen."""


class Cause(StrEnum):
    """Why a plan has no one solution: a figure that cannot be, too much said, or too little."""

    FIGURE = "figure"
    OVER = "over"
    UNDER = "under"


class PortionError(ValueError):
    """A plan that cannot be solved; ``cause`` says why, ``portions`` names those it is about.

    ``field`` is one of "batter", "fats", "area", "density", "portions", "name", "share", "grams", "layer",
    "size", "additions", "scale" and "done".
    """

    def __init__(self, field: str, message: str, cause: Cause = Cause.FIGURE, *portions: Portion) -> None:
        super().__init__(message)
        self.field, self.cause = field, cause
        self.portions = tuple(portion.name for portion in portions)


class Basis(StrEnum):
    """What the amount of something that goes into a portion is a share of."""

    WEIGHT = "weight"
    FATS = "fats"


class Addition(NamedTuple):
    """A fragrance, colour or additive of one portion: % of the portion's weight or of its fats."""

    name: str
    amount: float
    basis: Basis = Basis.WEIGHT


@dataclass(frozen=True, slots=True)
class Portion:
    """One jug of batter, its size stated as share in %, grams, height of the layer in mm, or the rest.

    Nothing stated leaves the size open, as the rest does. A share beside grams or a layer says how much the
    batter weighs. ``order`` is that of pouring.
    """

    name: str
    share: float | None = None
    grams: float | None = None
    layer_mm: float | None = None
    rest: bool = False
    additions: tuple[Addition, ...] = ()
    destination: str = MOULD
    order: int = 0

    @property
    def open(self) -> bool:
        """Whether its size is left to be worked out."""
        return self.share is None and self.grams is None and self.layer_mm is None


@dataclass(frozen=True, slots=True)
class Plan:
    """A batter to be split: its grams (None: open), % of fats in it, and its portions.

    ``area_mm2`` is the base of the mould, ``density`` that of the batter in g/mL; both are needed for layers.
    """

    portions: tuple[Portion, ...]
    fats_share: float
    scale: Scale
    batter: float | None = None
    area_mm2: float | None = None
    density: float | None = None

    def grams_stated(self, portion: Portion) -> float | None:
        """Grams of a portion that states them, or a layer; None for any other. The plan must be checked."""
        if portion.layer_mm is None or self.area_mm2 is None or self.density is None:
            return portion.grams
        return portion.layer_mm * self.area_mm2 / 1000 * self.density


def check(plan: Plan) -> None:
    """Raise PortionError for a figure that cannot be, and for a size said twice or that cannot be told."""
    for field, ok, words in _whole_figures(plan):
        if not ok:
            raise PortionError(field, words)
    seen: set[str] = set()
    for portion in plan.portions:
        name = portion.name
        if not name.strip():
            raise PortionError("name", Phrase("Each portion needs a name."), Cause.FIGURE, portion)
        if name in seen:
            words = Phrase("Two portions are called %(name)s.", name=name)
            raise PortionError("name", words, Cause.FIGURE, portion)
        seen.add(name)
        for field, ok, words in _portion_figures(portion):
            if not ok:
                raise PortionError(field, words, Cause.FIGURE, portion)
        _check_size(plan, portion)


def _whole_figures(plan: Plan) -> Iterator[tuple[str, bool, Phrase]]:
    batter, area, density = plan.batter, plan.area_mm2, plan.density
    yield "portions", bool(plan.portions), Phrase("There are no portions.")
    yield (
        "batter",
        batter is None or 0 < batter <= MAX_GRAMS,
        Phrase("The batter must weigh more than nothing and at most 1 tonne."),
    )
    yield (
        "fats",
        0 < plan.fats_share <= 100,
        Phrase("The fats must be more than 0 % and at most 100 % of the batter."),
    )
    yield (
        "area",
        area is None or 1 <= area <= LARGEST_MM**2,
        Phrase("The base of the mould must lie between 1 mm² and 4 m²."),
    )
    yield (
        "density",
        density is None or LIGHTEST <= density <= HEAVIEST,
        Phrase("The density of the batter must lie between 0.1 and 5 g/mL."),
    )


def _portion_figures(portion: Portion) -> Iterator[tuple[str, bool, Phrase]]:
    name, share, grams, layer = portion.name, portion.share, portion.grams, portion.layer_mm
    yield (
        "share",
        share is None or 0 < share <= 100,
        Phrase("%(name)s: the share must be more than 0 %% and at most 100 %%.", name=name),
    )
    yield (
        "grams",
        grams is None or 0 < grams <= MAX_GRAMS,
        Phrase("%(name)s: the weight must be more than 0 g and at most 1 tonne.", name=name),
    )
    yield (
        "layer",
        layer is None or 0 < layer <= LARGEST_MM,
        Phrase("%(name)s: the height of the layer must be more than 0 mm and at most 2 m.", name=name),
    )
    for addition in portion.additions:
        yield (
            "additions",
            0 <= addition.amount <= 100,
            Phrase(
                "%(name)s: %(addition)s must lie between 0 %% and 100 %%.", name=name, addition=addition.name
            ),
        )


def _check_size(plan: Plan, portion: Portion) -> None:
    in_grams = (portion.grams is not None) + (portion.layer_mm is not None)
    if in_grams > 1 or (portion.rest and not portion.open):
        words = Phrase("%(name)s states its size twice. Keep one way of saying it.", name=portion.name)
        raise PortionError("size", words, Cause.OVER, portion)
    if portion.layer_mm is None:
        return
    if portion.destination != MOULD:
        words = Phrase(
            "%(name)s does not go into the mould: give its share or its grams, not a layer.",
            name=portion.name,
        )
        raise PortionError("layer", words, Cause.FIGURE, portion)
    for field, value, words in (
        (
            "area",
            plan.area_mm2,
            Phrase("%(name)s is a layer: give the base of the mould.", name=portion.name),
        ),
        (
            "density",
            plan.density,
            Phrase("%(name)s is a layer: give the density of the batter.", name=portion.name),
        ),
    ):
        if value is None:
            raise PortionError(field, words, Cause.UNDER, portion)
