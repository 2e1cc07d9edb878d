"""Batches: planned, weighed, poured, cut, cured; and the bars that come of them."""

from batches.models.batch import Batch, Jug, Line, NumberSeries, State, Weighing
from batches.models.cure import BarMovement, ColourReading, Cure, CureNote, Scent, WeighIn
from batches.models.events import Deed, Event

__all__ = [
    "BarMovement",
    "Batch",
    "ColourReading",
    "Cure",
    "CureNote",
    "Deed",
    "Event",
    "Jug",
    "Line",
    "NumberSeries",
    "Scent",
    "State",
    "WeighIn",
    "Weighing",
]
