"""Certificates and the like: PDF files kept as they came, pictures kept as photos are."""

from __future__ import annotations

from pathlib import PurePath
from typing import Any

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from soapshop.core.access import require_maker
from soapshop.core.models import Document, User
from soapshop.core.services.files import delete_files, write_files
from soapshop.core.services.photos import forget_photo, store_photo

MOST_BYTES = 10_000_000
LONGEST_NAME, LONGEST_ENDING = 120, 10

# How a PDF file begins and ends. Readers look for the end in the last kilobyte: common practice, no source.
BEGINS, ENDS, TAIL = b"%PDF-", b"%%EOF", 1024

TOO_BIG = _("This file is larger than 10 MB. Send a smaller one, or a photo of the page that counts.")
CUT_OFF = _("This PDF file is not whole: its end is missing. Fetch it again, and send it again.")
NEITHER = _(
    "This is neither a PDF file nor a picture that the app can read. Send a PDF, JPEG, PNG, WebP or HEIC."
)


@transaction.atomic
def store_document(*, upload: UploadedFile[Any], by: User) -> Document:
    """Keep a PDF file or a picture. Raises ValidationError with a message for the maker."""
    require_maker(by)
    document = Document(name=_name(upload), added_by=by)
    beginning = upload.read(len(BEGINS))
    upload.seek(0)
    if beginning == BEGINS:
        write_files(row=document, contents={"file": (f"{document.pk}.pdf", ContentFile(_whole(upload)))})
    else:
        try:
            document.photo = store_photo(upload=upload, by=by)
        except ValidationError as error:
            if error.code == "no_picture":
                raise ValidationError(NEITHER) from error
            raise
    document.save()
    return document


@transaction.atomic
def forget_document(*, document: Document, by: User) -> None:
    """Remove a document that nothing points to any more, with its file once that is certain."""
    require_maker(by)
    name, photo = str(document.file), document.photo
    document.delete()
    if photo:
        forget_photo(photo=photo, by=by)
    else:
        transaction.on_commit(lambda: delete_files(names=[name]))


def _whole(upload: UploadedFile[Any]) -> bytes:
    """What is in a PDF file. Raises ValidationError for one that is too large or was cut off."""
    if (upload.size or 0) > MOST_BYTES:
        raise ValidationError(TOO_BIG)
    content: bytes = upload.read()
    if ENDS not in content[-TAIL:]:
        raise ValidationError(CUT_OFF)
    return content


def _name(upload: UploadedFile[Any]) -> str:
    """The name of the file on the sender's device, without what cannot be written."""
    name = "".join(sign for sign in str(upload.name or "") if sign.isprintable()).strip()
    ending = PurePath(name).suffix[:LONGEST_ENDING]
    return name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - len(ending)] + ending
