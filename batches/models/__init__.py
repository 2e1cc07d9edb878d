"""Batches: planned, weighed, poured, cut, cured; and the bars that come of them."""

from batches.models.batch import Batch, Line, NumberSeries, State, Weighing
from batches.models.cure import BarMovement, Cure, CureNote, WeighIn
from batches.models.events import Deed, Event

__all__ = [
    "BarMovement",
    "Batch",
    "Cure",
    "CureNote",
    "Deed",
    "Event",
    "Line",
    "NumberSeries",
    "State",
    "WeighIn",
    "Weighing",
]
