"""What stands on the tags of the rack."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from batches.models import Cure
from batches.queries.picture import Picture, picture_of

MOST_TAGS = 96  # twelve sheets


@dataclass(frozen=True, slots=True)
class Tag:
    """A batch that stands on the rack or the shelf. `bars` are those cut, or planned until it is cut."""

    cure: Cure
    picture: Picture
    bars: int


def tags_to_choose(day: date, asked: Iterable[int]) -> list[Tag]:
    """All of the rack, and the batches asked for wherever their bars are; newest in front. One query."""
    rack = Cure.objects.on_the_rack(day).values("pk")
    return _tags(Cure.objects.filter(Q(pk__in=rack) | Q(batch__in=list(asked), ended_at__isnull=True)))


def tags_of(batches: Iterable[int]) -> list[Tag]:
    """The tags of those batches that have been poured. One query."""
    return _tags(Cure.objects.filter(batch__in=list(batches), ended_at__isnull=True))


def _tags(cures: QuerySet[Cure]) -> list[Tag]:
    found = cures.select_related("batch").order_by("-started_on", "-pk")[:MOST_TAGS]
    return [Tag(cure, picture_of(cure.batch), _bars(cure)) for cure in found]


def _bars(cure: Cure) -> int:
    return cure.bars_cut or cure.batch.bars_planned
