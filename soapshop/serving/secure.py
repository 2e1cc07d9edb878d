"""HTTPS by waitress, which itself speaks plain HTTP: the same server, on connections that are encrypted.

A TLS connection is served as waitress serves any other: its one loop reads from whoever has sent something,
so neither a phone that is slow to shake hands nor one on a bad network makes others wait. (Measured against
cheroot, which has TLS built in and gives each connection a thread: beside two silent clients, a third waited
20 s there and 0.03 s here. CPU for a page is the same within what can be measured.)
"""

from __future__ import annotations

import errno
import logging
import socket
import ssl
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from threading import Lock
from typing import Any, cast

from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer

from soapshop.authority import Authority, AuthorityUnusable

PLAIN_WORDS = b"This port speaks HTTPS only. Write https:// in front of the address.\n"
PLAIN_ANSWER = b"".join(
    [
        b"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain\r\nConnection: close\r\n",
        b"Content-Length: %d\r\n\r\n" % len(PLAIN_WORDS),
        PLAIN_WORDS,
    ]
)

logger = logging.getLogger(__name__)


class ServerCertificate:
    """The TLS settings for the next connection; renewed while the server runs, without disturbing the others.

    `names` tells under which names the server is found now. Raises AuthorityUnusable if there can be none.
    """

    def __init__(self, authority: Authority, names: Callable[[], list[str]]) -> None:
        self._authority, self._names = authority, names
        self._loaded = 0
        self.context: ssl.SSLContext
        self._load()

    def look(self) -> None:
        """Renew it if that is due. What cannot be renewed serves on as it is, and the log says why."""
        try:
            self._load()
        except AuthorityUnusable as problem:
            logger.warning("%s", problem)
        except Exception:  # it would end the server
            logger.exception("The certificate of the secure address could not be looked after.")

    def _load(self) -> None:
        file = self._authority.server_file(self._names(), datetime.now(UTC))
        if (changed := file.stat().st_mtime_ns) == self._loaded:
            return
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        context.sslsocket_class = SecureSocket
        context.set_alpn_protocols(["http/1.1"])
        try:
            context.load_cert_chain(file)
        except ssl.SSLError as problem:
            raise AuthorityUnusable(f"{file} is damaged. Delete it, and it is made anew.") from problem
        self.context, self._loaded = context, changed


class _NothingYet(Exception):
    """More has to arrive before anything can be read. No OSError: waitress would close the connection."""


class SecureSocket(ssl.SSLSocket):
    """Reads and writes as waitress expects it of a plain socket that never waits.

    The handshake happens on the first read. waitress reads in its loop and writes in its workers, but OpenSSL
    takes one at a time; hence the lock.
    """

    lock = Lock()  # for the moment in which it is made; then each has its own

    def recv(self, buflen: int = 1024, flags: int = 0) -> bytes:
        with self.lock, _words_for_waitress():
            try:
                data = super().recv(buflen, flags)
                while waiting := self.pending():  # decrypted already, so that the loop would not hear of it
                    data += super().recv(waiting, flags)
                return data
            except (ssl.SSLWantReadError, ssl.SSLWantWriteError) as problem:
                raise _NothingYet from problem
            except ssl.SSLError as problem:
                if problem.reason == "HTTP_REQUEST":
                    socket.socket.send(self, PLAIN_ANSWER)
                raise

    def send(self, data: Any, flags: int = 0) -> int:
        with self.lock, _words_for_waitress():
            try:
                return super().send(data, flags)
            except (ssl.SSLWantReadError, ssl.SSLWantWriteError) as problem:
                raise BlockingIOError(errno.EWOULDBLOCK, "not now") from problem

    def close(self) -> None:
        with self.lock, suppress(OSError, ValueError):
            self.unwrap()  # says goodbye, as TLS asks; nobody waits for the answer
        super().close()


@contextmanager
def _words_for_waitress() -> Iterator[None]:
    """A failed handshake, as of a phone that does not trust us yet, is a lost connection and no news."""
    try:
        yield
    except ssl.SSLError as problem:
        raise ConnectionResetError(errno.ECONNRESET, str(problem)) from problem


class SecureChannel(HTTPChannel):  # type: ignore[misc]
    """One connection."""

    def handle_read(self) -> None:
        with suppress(_NothingYet):
            super().handle_read()


class SecureServer(TcpWSGIServer):  # type: ignore[misc]
    """Listens for TLS. Pass `certificate` besides what waitress asks for."""

    channel_class = SecureChannel

    def __init__(self, *args: Any, certificate: ServerCertificate, **kwargs: Any) -> None:
        self.certificate = certificate
        super().__init__(*args, **kwargs)

    def accept(self) -> tuple[SecureSocket, Any] | None:
        if not (accepted := super().accept()):
            return None
        plain, address = accepted
        try:
            plain.getpeername()
        except OSError:  # they have left again already
            plain.close()
            return None
        context = self.certificate.context
        secure = cast(
            SecureSocket, context.wrap_socket(plain, server_side=True, do_handshake_on_connect=False)
        )
        secure.lock = Lock()
        return secure, address

    def maintenance(self, now: float) -> None:
        """waitress calls this every half a minute."""
        super().maintenance(now)
        self.certificate.look()
