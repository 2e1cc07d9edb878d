"""What the tests of certificates share: names to sign for, and what a file shows."""

from __future__ import annotations

import ssl
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from cryptography import x509

from soapshop.authority import Authority

NAMES = ["localhost", "127.0.0.1", "::1", "bench.local", "192.168.7.20"]
NOW = datetime.now(UTC).replace(microsecond=0)


def shown(file: Path) -> x509.Certificate:
    """The server's own certificate in the file."""
    return x509.load_pem_x509_certificates(file.read_bytes())[0]


def names_in(file: Path) -> set[str]:
    names = shown(file).extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {str(name.value) for name in names}


def trusting(authority: Authority) -> ssl.SSLContext:
    return ssl.create_default_context(cafile=authority.folder / "authority.pem")


def shake_hands(file: Path, authority: Authority, name: str) -> str:
    """'shaken', or why a client that trusts the authority will not talk to `name`."""
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(file)
    to_client, to_server = ssl.MemoryBIO(), ssl.MemoryBIO()
    one = trusting(authority).wrap_bio(to_client, to_server, server_hostname=name)
    other = server.wrap_bio(to_server, to_client, server_side=True)
    try:
        for _ in range(4):
            for side in (one, other):
                with suppress(ssl.SSLWantReadError):
                    side.do_handshake()
    except ssl.SSLCertVerificationError as refusal:
        return refusal.verify_message + str(refusal)
    return "shaken"
