"""What a batch looks like cut across, from the copy of the recipe that it keeps."""

from __future__ import annotations

from dataclasses import dataclass

from batches.models import Batch
from shared.cross_section import Layer


@dataclass(frozen=True, slots=True)
class Picture:
    """Layers from the bottom up, and the inner width and height of the mould in mm where it is known."""

    layers: tuple[Layer, ...]
    width: float | None
    height: float | None
    seed: str


def picture_of(batch: Batch) -> Picture:
    """The cross-section of a batch. It reads only what is frozen in it."""
    mould = batch.frozen["mould"]
    return Picture(
        layers=(Layer(batch.frozen["bar_colour"], 1.0, batch.frozen["recipe"]),),
        width=float(mould[1]) if mould else None,
        height=float(mould[2]) if mould else None,
        seed=batch.code,
    )
