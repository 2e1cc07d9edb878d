"""How a fragrance has behaved so far: counted by the batches, kept beside the fragrance."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext

from inventory.models import Behaviour, Kind, Material


def tell_behaviour(
    *,
    material: Material,
    batches: int,
    thickened: int = 0,
    within_minutes: int | None = None,
    riced: int = 0,
    seized: int = 0,
    overheated: int = 0,
) -> Behaviour:
    """Keep what the batches say of a fragrance, in place of what they said before.

    Of so many `batches` with it, how many thickened, riced, seized or overheated; `within_minutes` is the
    time within which it thickened, None where nobody noted it. No line of history: the batches hold it all.
    Raises ValidationError by field.
    """
    counts = {"thickened": thickened, "riced": riced, "seized": seized, "overheated": overheated}
    problems = {
        name: gettext("This happened in none to all of the batches.")
        for name, count in counts.items()
        if not 0 <= count <= batches
    }
    if batches < 0:
        problems["batches"] = gettext("Batches are counted from none up.")
    if within_minutes is not None and within_minutes < 0:
        problems["within_minutes"] = gettext("A time cannot be below zero.")
    if material.kind != Kind.FRAGRANCE:
        problems["material"] = gettext("%(material)s is no fragrance.") % {"material": material}
    if problems:
        raise ValidationError(problems)
    with transaction.atomic():
        kept, _ = Behaviour.objects.update_or_create(
            material=material, defaults={**counts, "batches": batches, "within_minutes": within_minutes}
        )
    return kept
