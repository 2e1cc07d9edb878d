"""The workshop's own certificate authority, kept in the data folder, and the server's certificate from it.

It is made once, since every phone has to be told to trust it; the server's certificate is renewed by itself.

    tls/authority.pem   the root's certificate, which phones are given; its key is not kept anywhere
    tls/issuer.pem      key and certificate that sign the server's, for private networks only
    tls/server.pem      the server's key, its certificate and the issuer's
    tls/server.json     what server.pem was made for and until when

Standard library only, but for the moment in which something is made.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import socket
import ssl
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

RENEW_BEFORE = timedelta(days=30)
NAME = re.compile(r"localhost|(\*\.)?[a-z0-9_-]+(\.[a-z0-9_-]+)+|[0-9a-f:]*:[0-9a-f:]*")
LONGEST_NAME = 253  # RFC 1035


class AuthorityUnusable(Exception):
    """Nothing can be signed; its text says why and what to do."""


@dataclass(frozen=True)
class Authority:
    """The files in `folder`, which need not be there yet."""

    folder: Path

    @property
    def exists(self) -> bool:
        return self._root.exists()

    def certificate(self) -> bytes:
        """The root's certificate in DER, as phones take it. Raises OSError where there is none."""
        return ssl.PEM_cert_to_DER_cert(self._root.read_text(encoding="ascii"))

    def fingerprint(self) -> str:
        """SHA-256 of the certificate, in four lines of eight pairs of figures, which phones show too."""
        digest = sha256(self.certificate()).digest()
        return "\n".join(digest[start : start + 8].hex(" ").upper() for start in range(0, 32, 8))

    def server_file(self, names: list[str], now: datetime) -> Path:
        """The server's key and certificate for these names, made or renewed if that is due.

        Raises AuthorityUnusable if that is not possible.
        """
        try:
            if not self.exists:
                self._make(names, now)
            self._check_clock(now)
            if self._is_due(names, now):
                self._sign(names, now)
        except (OSError, ValueError, LookupError) as problem:
            raise AuthorityUnusable(
                f"The workshop's certificates in {self.folder} cannot be used: {problem}. If nothing else "
                f"helps, delete that folder and connect every phone again."
            ) from problem
        return self._server

    def refused(self) -> list[str]:
        """Names that the server goes by but that the authority, as it was made, may not sign for."""
        return list(self._facts().get("refused", []))

    @property
    def _root(self) -> Path:
        return self.folder / "authority.pem"

    @property
    def _issuer(self) -> Path:
        return self.folder / "issuer.pem"

    @property
    def _server(self) -> Path:
        return self.folder / "server.pem"

    def _make(self, names: list[str], now: datetime) -> None:
        """All or nothing: the files come into being in a folder beside it, which then takes its name."""
        from soapshop.certificates import make_authority

        called = f"soapshop on {socket.gethostname()}, {now:%Y-%m-%d}"
        made = make_authority(name=called, names=names, now=now)
        new = Path(tempfile.mkdtemp(prefix=f"{self.folder.name}-new-", dir=self.folder.parent))
        try:
            _write_private(new / self._root.name, made.root)
            _write_private(new / self._issuer.name, made.issuer)
            new.rename(self.folder)
        finally:
            shutil.rmtree(new, ignore_errors=True)

    def _check_clock(self, now: datetime) -> None:
        begins, ends = self._life()
        if begins <= now <= ends:
            return
        raise AuthorityUnusable(
            f"It is {_day(now)} by this computer's clock, and the workshop's authority is valid from "
            f"{_day(begins)} to {_day(ends)}. If the clock is wrong, set it. If it is right, delete the "
            f"folder {self.folder}, start again, and connect every phone again."
        )

    def _life(self) -> tuple[datetime, datetime]:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        context.load_verify_locations(cafile=self._root)
        facts = context.get_ca_certs()[0]
        begins, ends = (ssl.cert_time_to_seconds(str(facts[key])) for key in ("notBefore", "notAfter"))
        return datetime.fromtimestamp(begins, UTC), datetime.fromtimestamp(ends, UTC)

    def _is_due(self, names: list[str], now: datetime) -> bool:
        facts = self._facts()
        if not self._server.exists() or facts.get("names") != names:
            return True
        since, until = (datetime.fromisoformat(facts[key]) for key in ("since", "until"))
        return now < since or (until - now < RENEW_BEFORE and until < self._life()[1])

    def _facts(self) -> dict[str, Any]:
        try:
            return dict(json.loads(self._facts_file.read_text(encoding="utf-8")))
        except (FileNotFoundError, ValueError):
            return {}

    @property
    def _facts_file(self) -> Path:
        return self.folder / "server.json"

    def _sign(self, names: list[str], now: datetime) -> None:
        """The facts come last: what was broken off in between is signed anew."""
        from soapshop.certificates import make_certificate

        made = make_certificate(issuer=self._issuer.read_text(encoding="ascii"), names=names, now=now)
        facts = {"names": names, "refused": made.refused, "since": f"{now}", "until": f"{made.until}"}
        self._facts_file.unlink(missing_ok=True)
        _write_private(self._server, made.pem)
        _write_private(self._facts_file, json.dumps(facts))


def names_to_sign(hosts: Iterable[str]) -> list[str]:
    """The hosts of Django's ALLOWED_HOSTS as a certificate writes them, in order, each once.

    '[::1]' loses its brackets, '.soap.example' becomes itself and all below it; '*' is no name. A name
    without a dot is left out: who may sign for a computer called 'shop' may sign for all of .shop.
    """
    names: list[str] = []
    for host in hosts:
        plain = host.strip("[]").lower()
        names += [plain[1:], f"*{plain}"] if plain.startswith(".") else [plain]
    return [name for name in dict.fromkeys(names) if NAME.fullmatch(name) and len(name) <= LONGEST_NAME]


def _write_private(path: Path, text: str) -> None:
    """In one stroke, and readable by its owner alone."""
    new = path.with_suffix(".new")
    with os.fdopen(os.open(new, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as file:
        file.write(text)
    new.replace(path)


def _day(moment: datetime) -> str:
    return f"{moment.day} {moment:%B %Y}"
