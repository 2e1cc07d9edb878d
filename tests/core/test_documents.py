"""Documents: PDF files kept as they came, pictures kept as photos are, both for the signed-in alone."""

from __future__ import annotations

import os
import time
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from soapshop.core.models import Document, Photo
from soapshop.core.services import documents, photos
from soapshop.core.services.documents import forget_document, store_document
from soapshop.core.services.files import UNFINISHED_FOR
from tests.core.pictures import encoded, heic, jpeg, pdf, picture, upload


def kept(content: bytes, name: str, maker) -> Document:
    return store_document(upload=upload(content, name, "application/octet-stream"), by=maker)


def files_under(folder: Path) -> list[Path]:
    return [path for path in Path(folder).rglob("*") if path.is_file()]


def address(document: Document) -> str:
    return reverse("core:document", args=[document.pk])


def test_a_pdf_is_kept_as_it_came_under_a_name_that_nobody_can_guess(maker):
    document = kept(pdf(), "Fen Lavender IFRA.pdf", maker)

    assert Path(document.file.path).read_bytes() == pdf()
    assert Path(document.file.path).name == f"{document.pk}.pdf"
    assert (document.name, document.photo, document.added_by) == ("Fen Lavender IFRA.pdf", None, maker)
    assert str(document) == "Fen Lavender IFRA.pdf"


@pytest.mark.parametrize("content", [jpeg(), encoded(picture(), "PNG"), heic()], ids=["jpeg", "png", "heic"])
def test_a_picture_of_a_page_is_kept_as_photos_are(maker, content):
    document = kept(content, "page.heic", maker)

    assert not document.file
    assert document.photo == Photo.objects.get()


def test_a_file_is_known_by_what_is_in_it_and_not_by_its_name(maker):
    assert kept(pdf(), "photo.jpg", maker).file
    assert kept(jpeg(), "certificate.pdf", maker).photo


@pytest.mark.parametrize(
    ("content", "message"),
    [
        pytest.param(b"Dear diary", documents.NEITHER, id="text"),
        pytest.param(b"PK\3\4 word.docx", documents.NEITHER, id="archive"),
        pytest.param(b"<html>%PDF-1.7 %%EOF</html>", documents.NEITHER, id="page"),
        pytest.param(pdf()[:-7], documents.CUT_OFF, id="cut off"),
        pytest.param(b"%PDF-1.7" + b" " * documents.MOST_BYTES + b"%%EOF", documents.TOO_BIG, id="too large"),
        pytest.param(jpeg((640, 480))[:900], photos.DAMAGED, id="damaged picture"),
    ],
)
def test_anything_else_is_refused_with_a_clear_message(maker, content, message, settings):
    with pytest.raises(ValidationError) as refused:
        kept(content, "certificate.pdf", maker)

    assert refused.value.messages == [message]
    assert not Document.objects.exists()
    assert not [path for path in files_under(settings.MEDIA_ROOT) if path.suffix]


def test_a_viewer_adds_and_removes_none(maker, viewer):
    with pytest.raises(PermissionDenied):
        kept(pdf(), "a.pdf", viewer)
    with pytest.raises(PermissionDenied):
        forget_document(document=kept(pdf(), "a.pdf", maker), by=viewer)


@pytest.mark.parametrize(
    ("sent", "name"),
    [
        ("../../etc/passwd.pdf", "passwd.pdf"),
        ("Lavendel 🧼.pdf", "Lavendel 🧼.pdf"),
        ("be\x01fo\u202ere.pdf", "before.pdf"),
        (f"{'a' * 200}.pdf", f"{'a' * 116}.pdf"),
    ],
)
def test_its_name_is_kept_without_what_no_name_should_hold(maker, sent, name):
    assert kept(pdf(), sent, maker).name == name


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("content", [pdf(), jpeg()], ids=["pdf", "picture"])
def test_a_document_that_is_forgotten_leaves_no_file(maker, settings, content):
    document = kept(content, "a", maker)
    assert files_under(settings.MEDIA_ROOT)

    forget_document(document=document, by=maker)

    assert files_under(settings.MEDIA_ROOT) == []
    assert not Document.objects.exists()
    assert not Photo.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_the_file_of_a_failed_transaction_goes_once_it_is_old_and_no_other(maker, settings):
    with transaction.atomic():
        lost = kept(pdf("lost"), "lost.pdf", maker)
        transaction.set_rollback(True)
    whole = kept(pdf("whole"), "whole.pdf", maker)
    unfinished = Path(settings.MEDIA_ROOT) / "unfinished"
    (unfinished / str(whole.pk)).write_text(str(whole.file.name))
    long_ago = time.time() - UNFINISHED_FOR - 1
    for marker in unfinished.iterdir():
        os.utime(marker, (long_ago, long_ago))

    kept(jpeg(), "picture.jpg", maker)

    assert not Path(lost.file.path).exists()
    assert Path(whole.file.path).exists()
    assert list(unfinished.iterdir()) == []


def test_the_signed_in_are_sent_a_pdf_to_keep_and_their_browser_opens_nothing(maker, viewer, client_of):
    document = kept(pdf(), 'a "b"; c.pdf', maker)

    answer = client_of(viewer).get(address(document))

    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="a \\"b\\"; c.pdf"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer["Cache-Control"]
    assert b"".join(answer.streaming_content) == pdf()


def test_a_picture_is_shown_as_photos_are(maker, viewer, client_of):
    document = kept(jpeg(), "page.jpg", maker)

    answer = client_of(viewer).get(address(document))

    assert answer["Location"] == reverse("core:photo", args=[document.photo.pk, "full"])


def test_no_one_else_sees_a_document(maker):
    answer = Client().get(address(kept(pdf(), "a.pdf", maker)))

    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("core:sign_in"))


def test_a_document_that_does_not_exist_or_has_lost_its_file_is_not_found(maker, client_of):
    document = kept(pdf(), "a.pdf", maker)
    Path(document.file.path).unlink()

    assert client_of(maker).get(address(document)).status_code == 404
    assert client_of(maker).get(reverse("core:document", args=[uuid4()])).status_code == 404


def test_the_database_refuses_a_document_that_is_neither_file_nor_photo(maker):
    with pytest.raises(IntegrityError):
        Document.objects.create(name="nothing", added_by=maker)
