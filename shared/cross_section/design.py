"""What a bar is made of, as far as it is seen: its layers and how each is poured, embeds and toppings."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Protocol, TypeVar

from shared.words import Phrase

COLOUR: Final = re.compile(r"#[0-9a-fA-F]{6}")


class Technique(StrEnum):
    """How a layer is poured."""

    LAYER = "layer"
    POT = "pot"
    DROP = "drop"
    HANGER = "hanger"
    TOP = "top"

    @property
    def label(self) -> Phrase:
        return _LABELS[self]

    @property
    def is_swirl(self) -> bool:
        """Whether the layer goes into what was poured before it, instead of lying on it."""
        return self in {Technique.POT, Technique.DROP, Technique.HANGER}


_LABELS: Final = {
    Technique.LAYER: Phrase("layer"),
    Technique.POT: Phrase("in-the-pot swirl"),
    Technique.DROP: Phrase("drop swirl"),
    Technique.HANGER: Phrase("hanger swirl"),
    Technique.TOP: Phrase("textured top"),
}


@dataclass(frozen=True, slots=True)
class Layer:
    """One colour, poured after the one before. `share` is its part of the bar, on any common scale."""

    colour: str
    share: float
    name: str = ""
    technique: Technique = Technique.LAYER


@dataclass(frozen=True, slots=True)
class Embed:
    """Pieces set on top, `count` to a bar."""

    colour: str
    count: int
    name: str = ""


@dataclass(frozen=True, slots=True)
class Topping:
    """What is sprinkled on top, such as salt or petals."""

    colour: str
    name: str = ""


class Poured(Protocol):
    """Whatever is poured into a mould in some way."""

    @property
    def technique(self) -> Technique: ...


Part = TypeVar("Part", bound=Poured)


def bands_of(layers: Sequence[Part]) -> list[list[Part]]:
    """Put each layer together with what is swirled into it, the lowest band first.

    A swirl with nothing below it starts a band as any layer does.
    """
    bands: list[list[Part]] = []
    for layer in layers:
        if bands and layer.technique.is_swirl:
            bands[-1].append(layer)
        else:
            bands.append([layer])
    return bands


def check(
    layers: Sequence[Layer], embeds: Sequence[Embed], toppings: Sequence[Topping], sides: Sequence[float]
) -> None:
    """Raise `ValueError` for what cannot be drawn."""
    if not layers:
        raise ValueError("A cross-section needs at least one layer.")
    for colour in [part.colour for parts in (layers, embeds, toppings) for part in parts]:
        if not COLOUR.fullmatch(colour):
            raise ValueError(f"{colour[:20]!r} is not a colour such as #a4472a.")
    shares = [layer.share for layer in layers]
    if not all(math.isfinite(size) and size > 0 for size in (*sides, *shares, sum(shares))):
        raise ValueError("Shares and sides of a cross-section must be positive numbers.")
    if any(embed.count < 1 for embed in embeds):
        raise ValueError("A cross-section has at least one of each kind of embed.")
