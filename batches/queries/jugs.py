"""What the cards of the jugs offer to choose from."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils import timezone

from batches.models import Line
from inventory.models import Lot
from inventory.queries import lots_to_use


def lots_for(lines: Sequence[Line]) -> list[Lot]:
    """The lots that what is stirred in may come from, the first to expire in front. One query at most."""
    if not lines:
        return []
    found = lots_to_use([line.material_id for line in lines], timezone.localdate())
    return [lot for lots in found.values() for lot in lots]
