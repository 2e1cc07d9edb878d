"""What people set wrong when they run the app for real, found when it starts; each with a hint."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.core.checks import Warning as Caution

HOST_NAME = re.compile(r"\.?[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*|\[[0-9A-Fa-f:]+\]|\*")
NETWORK_DISKS = {"9p", "afs", "cifs", "fuse.sshfs", "nfs", "nfs4", "smb3", "smbfs"}
MOUNTS = Path("/proc/mounts")

AppConfigs = Sequence[AppConfig] | None


@register(Tags.files)
def data_folder_is_writable(app_configs: AppConfigs, **kwargs: Any) -> list[CheckMessage]:
    """soapshop.E001: everything that the workshop enters is kept in this folder."""
    try:
        with tempfile.TemporaryFile(dir=settings.DATA_DIR):
            return []
    except OSError as error:
        return [
            Error(
                f"The data folder {settings.DATA_DIR} cannot be written to: {error}.",
                hint="Give the user who runs the server the right to write there, or name another folder "
                "in SOAPSHOP_DATA.",
                id="soapshop.E001",
            )
        ]


@register(Tags.security)
def hosts_are_names(app_configs: AppConfigs, **kwargs: Any) -> list[CheckMessage]:
    """soapshop.E002: with a scheme, a port or a path a host matches no request, and every page is refused."""
    return [
        Error(
            f"'{host}' in SOAPSHOP_HOSTS is not the name of a host.",
            hint="Write the name or address alone, without http:// before it and without a port after it.",
            id="soapshop.E002",
        )
        for host in settings.ALLOWED_HOSTS
        if not HOST_NAME.fullmatch(host)
    ]


@register(Tags.security)
def hosts_are_few(app_configs: AppConfigs, **kwargs: Any) -> list[CheckMessage]:
    """soapshop.W001: a page of another site could reach the app under any name it likes."""
    if "*" not in settings.ALLOWED_HOSTS:
        return []
    return [
        Caution(
            "The app answers to every host name.",
            hint="List the names by which you reach it in SOAPSHOP_HOSTS, separated by commas.",
            id="soapshop.W001",
        )
    ]


@register(Tags.security)
def tls_has_its_proxy(app_configs: AppConfigs, **kwargs: Any) -> list[CheckMessage]:
    """soapshop.W002: the app would redirect to HTTPS on the port that speaks plain HTTP, for ever."""
    if not settings.SECURE_SSL_REDIRECT or settings.SECURE_PROXY_SSL_HEADER:
        return []
    return [
        Caution(
            "SOAPSHOP_TLS is on, but nothing tells the app which requests came by TLS.",
            hint="Set SOAPSHOP_BEHIND_PROXY=1, and let the proxy set X-Forwarded-Proto.",
            id="soapshop.W002",
        )
    ]


@register(Tags.files)
def database_is_on_this_machine(app_configs: AppConfigs, **kwargs: Any) -> list[CheckMessage]:
    """soapshop.W003: SQLite's write-ahead log needs memory shared by all who use the file."""
    database = settings.DATABASES["default"]
    if "sqlite3" not in database["ENGINE"] or disk_of(Path(database["NAME"])) not in NETWORK_DISKS:
        return []
    return [
        Caution(
            f"The database {database['NAME']} is on a network disk, where SQLite may damage it.",
            hint="Keep the data folder on a disk of this machine (SOAPSHOP_DATA), or use PostgreSQL "
            "(DATABASE_URL).",
            id="soapshop.W003",
        )
    ]


@register(Tags.security)
def keys_are_private(app_configs: AppConfigs, **kwargs: Any) -> list[CheckMessage]:
    """soapshop.W004: whoever reads the key of the secure address can pose as the workshop."""
    if os.name == "nt" or not settings.TLS_DIR.is_dir():
        return []
    return [
        Caution(
            f"Others on this computer can read {file}.",
            hint=f"chmod 700 {settings.TLS_DIR}; chmod 600 {settings.TLS_DIR}/*",
            id="soapshop.W004",
        )
        for file in sorted(settings.TLS_DIR.iterdir())
        if file.stat().st_mode & 0o077 and settings.TLS_DIR.stat().st_mode & 0o077
    ]


def disk_of(path: Path) -> str:
    """The kind of file system that holds a path, as Linux names it; '' where that cannot be told."""
    if not MOUNTS.exists():
        return ""
    mounts = [line.split()[1:3] for line in MOUNTS.read_text().splitlines()]
    holding = [(place, kind) for place, kind in mounts if path.resolve().is_relative_to(place)]
    return max(holding, key=lambda mount: len(mount[0]), default=("", ""))[1]
