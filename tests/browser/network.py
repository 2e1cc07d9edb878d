"""A network that can be cut, and that counts what comes over it."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import Lock, Thread
from urllib.parse import urlsplit

PIECE = 65_536  # bytes


class Network:
    """The only way from the phones to the server. Cut, nothing is heard of it, as where Wi-Fi does not reach.

    `sent` is told of every piece that has gone to the server, `received` counts the bytes that came back,
    headers and all. While it `stalls`, phones get no answer.
    """

    def __init__(self, server: str, host: str = "127.0.0.1") -> None:
        self.server = server
        self._host = host
        self.sent: Callable[[bytes], None] = lambda piece: None
        self.received = 0
        self.stalls = False
        self._open: set[socket.socket] = set()
        self._lock = Lock()
        self._listener: socket.socket | None = None
        self.port = 0
        self.join()
        self.address = f"http://localhost:{self.port}"

    @property
    def is_up(self) -> bool:
        return self._listener is not None

    def cut(self) -> None:
        assert self._listener
        self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self._listener = None
        with self._lock:
            for end in self._open:
                with suppress(OSError):
                    end.shutdown(socket.SHUT_RDWR)

    def join(self) -> None:
        self._listener = socket.create_server((self._host, self.port), backlog=64)
        self.port = self._listener.getsockname()[1]
        Thread(target=self._accept, args=(self._listener,), daemon=True).start()

    def _accept(self, listener: socket.socket) -> None:
        with suppress(OSError):
            while True:
                phone, _ = listener.accept()
                Thread(target=self._relay, args=(phone,), daemon=True).start()

    def _relay(self, phone: socket.socket) -> None:
        if self.stalls:
            self._leave_waiting(phone)
            return
        found = urlsplit(self.server)
        with suppress(OSError), phone, socket.create_connection((found.hostname, found.port)) as server:
            with self._lock:
                self._open |= {phone, server}
            back = Thread(target=self._carry, args=(server, phone, self._count), daemon=True)
            back.start()
            self._carry(phone, server, lambda piece: self.sent(piece))
            back.join()
            with self._lock:
                self._open -= {phone, server}

    def _count(self, piece: bytes) -> None:
        self.received += len(piece)

    def _leave_waiting(self, phone: socket.socket) -> None:
        with self._lock:
            self._open.add(phone)
        with suppress(OSError), phone:
            while phone.recv(PIECE):
                pass
        with self._lock:
            self._open.discard(phone)

    def _carry(self, source: socket.socket, target: socket.socket, told: Callable[[bytes], None]) -> None:
        with suppress(OSError):
            while piece := source.recv(PIECE):
                target.sendall(piece)
                told(piece)
        for end in (source, target):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)


@contextmanager
def network_to(server: str, host: str = "127.0.0.1") -> Iterator[Network]:
    network = Network(server, host)
    try:
        yield network
    finally:
        if network.is_up:
            network.cut()
