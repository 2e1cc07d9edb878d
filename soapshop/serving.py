"""What `serve` and `demo` share: make the workshop ready, say where it is, and serve it until Ctrl-C."""

import errno
import io
import logging
import signal
import socket
from abc import ABC, abstractmethod
from argparse import ArgumentParser, ArgumentTypeError
from dataclasses import dataclass
from hashlib import sha256
from operator import itemgetter
from pathlib import Path
from types import FrameType
from typing import Any, NoReturn

import segno
import waitress
from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import BaseCommand, CommandError, call_command
from django.core.management.base import OutputWrapper
from django.core.wsgi import get_wsgi_application

from inventory.services.reference import load_reference_fats
from soapshop.network import lan_address

EVERYWHERE = {"0.0.0.0", "::"}  # noqa: S104
THIS_COMPUTER = {"localhost", "127.0.0.1", "::1"}
WHITE_ON_BLACK, PLAIN = "\033[97;40m", "\033[0m"
THREADS = 8
LARGEST_REQUEST = 128 * 1024 * 1024  # bytes; the app itself answers a photo that is too large, in words


class ServingCommand(BaseCommand, ABC):
    """A command that makes a workshop ready and serves it."""

    def add_arguments(self, parser: ArgumentParser) -> None:
        everywhere = "0.0.0.0"  # noqa: S104 - phones in the workshop are meant to reach it
        parser.add_argument(
            "--port", type=port_number, default=8000, help="8000 if not given; 0 for any free one"
        )
        parser.add_argument("--host", default=everywhere, help=f"{everywhere} if not given: all networks")
        parser.add_argument("--data", metavar="DIR", help="the folder for database, photos and secret key")
        parser.add_argument("--no-serve", action="store_true", help="make everything ready, then stop")

    def handle(self, *, host: str, port: int, no_serve: bool, **options: Any) -> None:
        listener = None if no_serve else listen(host, port)
        self.make_ready(**options)
        if listener:
            announce(addresses(host, listener.getsockname()[1]), self.stdout)
        self.stdout.write(self.way_in())
        if listener:
            self.stdout.write("\n  Ctrl-C stops it.")
            self.stdout.flush()
            serve_until_stopped(listener, host)
            self.stdout.write("Stopped. Everything is saved.")

    def make_ready(self, **options: Any) -> None:
        """Bring database, reference fats and static files up to date. Doing it again changes nothing."""
        call_command("migrate", verbosity=0, interactive=False)
        load_reference_fats()
        collect_static_files()

    @abstractmethod
    def way_in(self) -> str:
        """How the first person signs in; empty if they know."""


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


def port_number(text: str) -> int:
    """0 to 65535, where 0 takes any free port."""
    if not (text.isdecimal() and int(text) <= 65535):
        raise ArgumentTypeError(f"{text} is no port; a port is a number from 1 to 65535, such as 8080")
    return int(text)


@dataclass(frozen=True)
class Addresses:
    """Where the workshop is found. `phone` is empty if it is served to this computer only."""

    computer: str
    phone: str


def addresses(host: str, port: int) -> Addresses:
    """The addresses to type, for the address and port that are listened on."""
    if host in THIS_COMPUTER:
        return Addresses(url(host, port), "")
    if host not in EVERYWHERE:
        return Addresses(url(host, port), url(host, port))
    lan = lan_address()
    return Addresses(
        url("localhost", port), url(f"{socket.gethostname()}.local" if lan in THIS_COMPUTER else lan, port)
    )


def url(host: str, port: int) -> str:
    """http://host:port, with an IPv6 address in brackets."""
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def listen(host: str, port: int) -> socket.socket:
    """A listening socket. Raises CommandError, in words, if the port is taken or the host is not ours."""
    try:
        return socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except OSError as problem:
        if problem.errno == errno.EADDRINUSE:
            reason = f"Port {port} is in use, perhaps by soapshop in another window. Try another --port"
        elif problem.errno in {errno.EACCES, errno.EPERM}:
            reason = f"Port {port} is reserved for the system. Try --port 8080"
        else:
            reason = f"{host} is no address of this computer. Leave --host out, or use 127.0.0.1"
        raise CommandError(reason) from problem


def qr_code(address: str, *, colours: bool) -> str:
    """The address as a QR code of half-block characters, two modules to a line.

    It is drawn light on dark; `colours` makes sure of that in a terminal with a white background.
    """
    drawing = io.StringIO()
    segno.make_qr(address, error="l").terminal(out=drawing, border=2, compact=True)
    lines = drawing.getvalue().splitlines()
    return "\n".join(f"  {WHITE_ON_BLACK}{line}{PLAIN}" if colours else f"  {line}" for line in lines)


def announce(found: Addresses, out: OutputWrapper) -> None:
    """Print the addresses, and a QR code of the one for a phone."""
    out.write(f"\n  On this computer:  {found.computer}")
    if not found.phone:
        out.write("  Served to this computer only.")
        return
    out.write(f"  On a phone:        {found.phone}   (in the same network)\n\n", ending="")
    try:
        out.write(qr_code(found.phone, colours=out.isatty()))
    except UnicodeEncodeError:
        out.write("  (This terminal cannot draw the QR code.)")


def serve_until_stopped(listener: socket.socket, host: str) -> None:
    """Serve the app on the socket until Ctrl-C or the system's request to end."""
    if host not in {*EVERYWHERE, *settings.ALLOWED_HOSTS}:
        settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, f"[{host}]" if ":" in host else host]
    proxy = {"trusted_proxy": "*", "trusted_proxy_headers": "x-forwarded-proto x-forwarded-for"}
    server = waitress.create_server(
        get_wsgi_application(),
        sockets=[listener],
        threads=THREADS,
        ident=None,
        max_request_body_size=LARGEST_REQUEST,
        **(proxy if settings.SECURE_PROXY_SSL_HEADER else {}),
    )
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a moment's wait is no news to a maker
    signal.signal(signal.SIGTERM, end)
    server.run()


def end(_signal: int, _frame: FrameType | None) -> NoReturn:
    """Leave the server's loop, which then finishes the requests at hand."""
    raise SystemExit(0)
