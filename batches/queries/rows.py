"""Batches that cure or stand ready, as lists show them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import TextChoices
from django.utils.translation import gettext_lazy as _

from batches.models import Cure
from batches.queries.drying import weekly_loss
from batches.queries.picture import Picture, picture_of

WEEK = timedelta(days=7)


class Stage(TextChoices):
    """How far a batch is, from the mould to the shelf."""

    TO_CUT = "to_cut", _("To cut")
    THIS_WEEK = "this_week", _("Ready this week")
    LATER = "later", _("Later")
    READY = "ready", _("Ready")


@dataclass(frozen=True, slots=True)
class CureRow:
    """A batch in a list. `bars` are those planned until it is cut, then those left."""

    cure: Cure
    picture: Picture
    stage: Stage
    bars: int

    @property
    def loss(self) -> Decimal | None:
        """Per cent a bar lost in a week of late; for a list, prefetch the weigh-ins."""
        return weekly_loss(list(self.cure.weigh_ins.all()))


def cure_row(cure: Cure, today: date) -> CureRow:
    """The row of a cure that was fetched with its batch."""
    bars = cure.bars_left if cure.is_cut else cure.batch.bars_planned
    return CureRow(cure, picture_of(cure.batch), stage_of(cure, today), bars)


def stage_of(cure: Cure, today: date) -> Stage:
    if not cure.is_cut:
        return Stage.TO_CUT
    if cure.ready_on <= today:
        return Stage.READY
    return Stage.THIS_WEEK if cure.ready_on <= today + WEEK else Stage.LATER
