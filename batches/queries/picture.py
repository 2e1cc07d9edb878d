"""What a batch looks like cut across."""

from __future__ import annotations

from dataclasses import dataclass

from batches.models import Batch
from shared.bar_picture import BarPicture
from shared.cross_section import Layer


@dataclass(frozen=True, slots=True)
class Picture:
    """The cut face, and what the hand-cut borders of its drawing go by."""

    look: BarPicture
    seed: str


def picture_of(batch: Batch) -> Picture:
    """The cross-section of a batch as it is now. Batches of before there were portions keep none."""
    if batch.picture:
        return Picture(BarPicture.from_json(batch.picture), batch.code)
    mould = batch.frozen["mould"]
    look = BarPicture(
        layers=(Layer(batch.frozen["bar_colour"], 1.0, batch.frozen["recipe"]),),
        width=float(mould[1]) if mould else None,
        height=float(mould[2]) if mould else None,
    )
    return Picture(look, batch.code)
