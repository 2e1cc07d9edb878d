"""The server itself: waitress with one app, for plain HTTP and, if there is a certificate, for HTTPS."""

import errno
import logging
import signal
import socket
from dataclasses import dataclass
from types import FrameType
from typing import Any, NoReturn

import waitress
from django.conf import settings
from django.core.management import CommandError
from django.core.wsgi import get_wsgi_application
from waitress.adjustments import Adjustments

from soapshop.serving.secure import SecureServer, ServerCertificate

THREADS = 8
LARGEST_REQUEST = 128 * 1024 * 1024  # bytes; the app itself answers a photo that is too large, in words
PROXY = {"trusted_proxy": "*", "trusted_proxy_headers": "x-forwarded-proto x-forwarded-for"}


def listen(host: str, port: int, *, option: str = "--port") -> socket.socket:
    """A listening socket. Raises CommandError, in words, if the port is taken or the host is not ours.

    `option` is the one that chooses the port.
    """
    try:
        return socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except OSError as problem:
        if problem.errno == errno.EADDRINUSE:
            reason = f"Port {port} is in use, perhaps by soapshop in another window. Try another {option}"
        elif problem.errno in {errno.EACCES, errno.EPERM}:
            reason = f"Port {port} is reserved for the system. Try {option} 8080"
        else:
            reason = f"{host} is no address of this computer. Leave --host out, or use 127.0.0.1"
        raise CommandError(reason) from problem


@dataclass(frozen=True)
class Secure:
    """A listening socket, and what to show those who come by it."""

    listener: socket.socket
    certificate: ServerCertificate


def serve_until_stopped(plain: socket.socket, secure: Secure | None) -> None:
    """Serve the app until Ctrl-C or the system's request to end, which waits for the requests at hand."""
    app, connections = get_wsgi_application(), dict[int, Any]()
    server = waitress.create_server(app, map=connections, sockets=[plain], **options())
    if secure:
        add_secure(server, app, connections, secure)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a moment's wait is no news to a maker
    signal.signal(signal.SIGTERM, end)
    server.run()


def options() -> dict[str, Any]:
    proxy = PROXY if settings.SECURE_PROXY_SSL_HEADER else {}
    return {"threads": THREADS, "ident": None, "max_request_body_size": LARGEST_REQUEST, **proxy}


def add_secure(server: Any, app: Any, connections: dict[int, Any], secure: Secure) -> None:
    """TLS on a second socket, in the loop and with the workers that the server has for the first."""
    listener = secure.listener
    SecureServer(
        app,
        map=connections,
        _sock=listener,
        dispatcher=server.task_dispatcher,
        adj=Adjustments(sockets=[listener], url_scheme="https", **options()),
        sockinfo=(listener.family, listener.type, listener.proto, listener.getsockname()),
        bind_socket=False,
        certificate=secure.certificate,
    )


def end(_signal: int, _frame: FrameType | None) -> NoReturn:
    """Leave the server's loop, which then finishes the requests at hand."""
    raise SystemExit(0)
