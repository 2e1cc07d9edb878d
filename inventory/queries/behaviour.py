"""What is known of how fragrances behave."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q

from inventory.models import Behaviour


def misbehaved(materials: Sequence[int]) -> tuple[Behaviour, ...]:
    """How those have behaved that did not behave well, by name. One query where there are any."""
    if not materials:
        return ()
    went_wrong = Q(thickened__gt=0) | Q(riced__gt=0) | Q(seized__gt=0) | Q(overheated__gt=0)
    found = Behaviour.objects.filter(went_wrong, material__in=materials)
    return tuple(found.select_related("material").order_by("material__name"))
