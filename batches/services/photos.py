"""Photos that come with a note or an event."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from soapshop.core.models import Photo, User
from soapshop.core.services.photos import store_photo


def keep_photo(*, upload: UploadedFile[bytes] | None, by: User) -> Photo | None:
    """Stores the picture where there is one. Raises ValidationError (field 'photo')."""
    if upload is None:
        return None
    try:
        return store_photo(upload=upload, by=by)
    except ValidationError as error:
        raise ValidationError({"photo": error.messages}) from error
