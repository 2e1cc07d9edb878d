"""The static files, collected and compressed for those who serve them."""

from hashlib import sha256
from operator import itemgetter
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command


def collect_static_files() -> None:
    """Collect and compress what pages are made of, unless nothing has changed since the last time."""
    stamp = Path(settings.STATIC_ROOT) / "collected"
    now = static_fingerprint()
    if not stamp.exists() or stamp.read_text(encoding="utf-8") != now:
        call_command("collectstatic", verbosity=0, interactive=False, clear=True)
        stamp.write_text(now, encoding="utf-8")


def static_fingerprint() -> str:
    """A digest of the name, size and time of every static file, and of how they are to be stored."""
    digest = sha256(settings.STORAGES["staticfiles"]["BACKEND"].encode())
    for finder in get_finders():
        for name, storage in sorted(finder.list([]), key=itemgetter(0)):
            file = Path(storage.path(name)).stat()
            digest.update(f"{name} {file.st_size} {file.st_mtime_ns}\n".encode())
    return digest.hexdigest()
