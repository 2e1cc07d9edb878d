"""What batches tell of the versions they were poured from. Recipes know nothing else of batches."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext

from recipes.models import Browned, Outcome, Version
from soapshop.core.access import require_maker
from soapshop.core.models import Photo, User

PER_MILLION = Decimal("0.0001")
HUNDREDTH = Decimal("0.01")


class Turned(NamedTuple):
    """A portion whose colour has settled: vanillin in % of the bar, and how far L* has dropped."""

    portion: str
    vanillin: float
    darkening: float


@transaction.atomic
def tell_browned(*, batch: str, turned: Iterable[Turned]) -> None:
    """Keep what the settled colours of a batch teach, in place of what they taught before."""
    Browned.objects.filter(batch=batch).delete()
    Browned.objects.bulk_create(
        Browned(
            batch=batch,
            portion=one.portion,
            vanillin=Decimal(one.vanillin).quantize(PER_MILLION),
            darkening=Decimal(one.darkening).quantize(HUNDREDTH),
        )
        for one in turned
    )


@transaction.atomic
def tell_outcome(
    *,
    batch: str,
    version: Version,
    picture: dict[str, Any],
    as_meant: str,
    otherwise: str,
    photo: Photo | None,
    on: date,
    by: User,
) -> Outcome:
    """Keep what came of a version, for its page and that of the next one. Told again, it is put right.

    `picture` is the cross-section as it was meant. Without a photo the one kept before stays.
    Raises ValidationError where nothing is said.
    """
    require_maker(by)
    outcome = Outcome.objects.select_for_update().filter(batch=batch).first() or Outcome(batch=batch)
    outcome.version, outcome.picture, outcome.on, outcome.by = version, picture, on, by
    outcome.as_meant, outcome.otherwise = as_meant.strip(), otherwise.strip()
    outcome.photo = photo or outcome.photo
    if not (outcome.as_meant or outcome.otherwise or outcome.photo_id):
        raise ValidationError(gettext("Say what came out as meant or what to do otherwise, or take a photo."))
    outcome.clean_fields(exclude=["version", "photo", "by", "picture"])
    outcome.save()
    return outcome
