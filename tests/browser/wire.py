"""A wire between browser and server that counts what the server sends over it."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Thread
from urllib.parse import urlsplit

PIECE = 65_536


class Wire:
    """Relays every connection to a server on this machine. `received` is in bytes, headers and all."""

    def __init__(self, server: str) -> None:
        self.received = 0
        self._server = urlsplit(server)
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://localhost:{self._listener.getsockname()[1]}"
        Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                browser, _ = self._listener.accept()
                Thread(target=self._relay, args=(browser,), daemon=True).start()

    def _relay(self, browser: socket.socket) -> None:
        found = (self._server.hostname, self._server.port)
        with suppress(OSError), browser, socket.create_connection(found) as server:
            back = Thread(target=self._carry, args=(server, browser, True), daemon=True)
            back.start()
            self._carry(browser, server, False)
            back.join()

    def _carry(self, source: socket.socket, target: socket.socket, count: bool) -> None:
        with suppress(OSError):
            while piece := source.recv(PIECE):
                if count:
                    self.received += len(piece)
                target.sendall(piece)
        for end in (source, target):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)


@contextmanager
def wire_to(server: str) -> Iterator[Wire]:
    wire = Wire(server)
    try:
        yield wire
    finally:
        wire.close()
