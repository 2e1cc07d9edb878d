"""Files that belong to a row: none is lost, and none is left behind."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from pathlib import Path

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction

from soapshop.core.models import Document, Photo

UNFINISHED_FOR = 3600  # seconds; no transaction lives that long


def write_files(*, row: Photo | Document, contents: Mapping[str, tuple[str, ContentFile[bytes]]]) -> None:
    """Write the files of a new row, name and content by the field that keeps it.

    They are written before the commit: written after it, a full disk would leave a note whose file is lost.
    Should the transaction fail instead, nothing tells us, so a marker that names the files is written first
    and removed by the commit. A marker that grows old belongs to a failure, and its files go with it.
    """
    _remove_unfinished()
    marker = _unfinished() / str(row.pk)
    names = {
        field: getattr(row, field).field.generate_filename(row, name) for field, (name, _) in contents.items()
    }
    marker.parent.mkdir(parents=True, exist_ok=True)
    marker.write_text("\n".join(names.values()))
    for field, (_, content) in contents.items():
        getattr(row, field).name = default_storage.save(names[field], content)
    transaction.on_commit(lambda: marker.unlink(missing_ok=True))


def delete_files(*, names: Iterable[str]) -> None:
    """Remove files by the names under which they are stored."""
    for name in names:
        default_storage.delete(name)


def _unfinished() -> Path:
    return Path(settings.MEDIA_ROOT) / "unfinished"


def _remove_unfinished() -> None:
    for marker in _unfinished().glob("*"):
        if time.time() - marker.stat().st_mtime < UNFINISHED_FOR:
            continue
        kept = any(model.objects.filter(pk=marker.name).exists() for model in (Photo, Document))
        if not kept:
            delete_files(names=marker.read_text().splitlines())
        marker.unlink(missing_ok=True)
