"""What came of a batch: the cut face beside what was meant, told to the version it was poured from."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils.translation import gettext

from batches.models import Cure
from batches.services.cure import lock_open
from batches.services.photos import keep_photo
from recipes.models import Outcome
from recipes.services.told import tell_outcome
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record


@transaction.atomic
def note_outcome(
    *,
    cure: Cure,
    as_meant: str,
    otherwise: str,
    photo: UploadedFile[bytes] | None,
    on: date,
    by: User,
) -> Outcome:
    """Notes what came out as meant and what to do otherwise, with a photo of the cut face.

    It stands on the page of the version, and of the next one. Noted again, it is put right.
    Raises ValidationError (field 'photo', and where nothing is said or the batch is not cut).
    """
    require_maker(by)
    cure = lock_open(cure)
    batch = cure.batch
    if not cure.is_cut:
        raise ValidationError(gettext("Cut it first: its face shows what came of it."))
    outcome = tell_outcome(
        batch=batch.code,
        version=batch.version,
        picture=batch.version.picture,
        as_meant=as_meant,
        otherwise=otherwise,
        photo=keep_photo(upload=photo, by=by),
        on=on,
        by=by,
    )
    record(by=by, subject=batch, what=gettext("Noted what came of %(batch)s") % {"batch": batch.code})
    return outcome
