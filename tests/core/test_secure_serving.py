"""Both addresses served by one waitress: handshakes, silence, renewal while it runs."""

from __future__ import annotations

import http.client
import shutil
import socket
import ssl
import struct
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from threading import Thread
from typing import Any

import pytest
import waitress
from waitress import wasyncore

from soapshop.authority import Authority, AuthorityUnusable
from soapshop.serving.secure import ServerCertificate
from soapshop.serving.server import Secure, add_secure
from tests.core.certificates import NAMES, trusting


def app(environ: dict[str, Any], start: Callable[..., Any]) -> list[bytes]:
    """Says by which scheme it was asked and how much it was sent."""
    sent = 0
    while piece := environ["wsgi.input"].read(65536):
        sent += len(piece)
    body = f"{environ['wsgi.url_scheme']} {sent} ".encode() + b"." * int(environ["QUERY_STRING"] or 0)
    start("200 OK", [("Content-Type", "text/plain"), ("Content-Length", str(len(body)))])
    return [body]


class Served:
    """Both addresses of a server that runs in a thread, and the names it is found under."""

    def __init__(self, authority: Authority) -> None:
        self.authority, self.names = authority, list(NAMES)
        self.certificate = ServerCertificate(authority, lambda: self.names)
        self.plain, self.secure = (socket.create_server(("127.0.0.1", 0)) for _ in range(2))
        self.plain_port, self.port = (each.getsockname()[1] for each in (self.plain, self.secure))

    def ask(self, path: str = "/", body: bytes | None = None) -> bytes:
        with closing(self.connection()) as connection:
            connection.request("POST" if body else "GET", path, body)
            return connection.getresponse().read()

    def connection(self) -> http.client.HTTPSConnection:
        return http.client.HTTPSConnection(
            "localhost", self.port, context=trusting(self.authority), timeout=20
        )


@contextmanager
def running(served: Served) -> Iterator[None]:
    connections: dict[int, Any] = {}
    options = {"threads": 2, "map": connections, "asyncore_loop_timeout": 0.05}
    server = waitress.create_server(app, sockets=[served.plain], **options)
    add_secure(server, app, connections, Secure(served.secure, served.certificate))
    thread = Thread(target=loop, args=(connections,))
    thread.start()
    yield
    connections[STOP] = None
    thread.join(20)
    server.task_dispatcher.shutdown()
    for each in list(connections.values()):
        if each:
            each.close()


STOP = -1


def loop(connections: dict[int, Any]) -> None:
    while STOP not in connections:
        wasyncore.poll(0.05, connections)


@pytest.fixture
def served(authority: Authority) -> Iterator[Served]:
    one = Served(authority)
    with running(one):
        yield one


def test_one_app_is_served_at_both_addresses(served):
    assert served.ask() == b"https 0 "
    with closing(http.client.HTTPConnection("localhost", served.plain_port, timeout=20)) as plain:
        plain.request("GET", "/")
        assert plain.getresponse().read() == b"http 0 "


def test_much_goes_both_ways(served):
    """Far more than one TLS record or one buffer of the system holds."""
    sent = b"photo" * 1_000_000

    answer = served.ask("/?7000000", sent)

    assert answer[:20] == b"https 5000000 ......"
    assert len(answer) == len(b"https 5000000 ") + 7_000_000


def test_a_connection_is_kept_for_the_next_question(served):
    with closing(served.connection()) as connection:
        for _ in range(3):
            connection.request("GET", "/")
            assert connection.getresponse().read() == b"https 0 "
            assert connection.sock
            mine = connection.sock.getsockname()
        assert connection.sock.getsockname() == mine


def test_those_who_say_nothing_keep_nobody_waiting(served):
    silent = [socket.create_connection(("127.0.0.1", served.port)) for _ in range(12)]
    half = socket.create_connection(("127.0.0.1", served.port))
    half.send(b"\x16\x03\x01")  # the first bytes of a handshake

    assert served.ask() == b"https 0 "
    for each in [*silent, half]:
        each.close()
    assert served.ask() == b"https 0 "


def test_those_who_leave_before_they_are_let_in_harm_nothing(served):
    for _ in range(30):
        hasty = socket.create_connection(("127.0.0.1", served.port))
        hasty.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))  # close by a reset
        hasty.close()

    assert served.ask() == b"https 0 "


def test_nothing_that_happens_to_the_files_ends_the_server(served, caplog):
    shutil.rmtree(served.authority.folder)
    served.authority.folder.write_text("in its place")
    served.certificate.look()

    assert "cannot be used" in caplog.text
    assert len(served.certificate.context.get_ciphers()) > 0


def test_who_does_not_trust_it_gets_nothing_and_harms_nothing(served, caplog):
    context = ssl.create_default_context()
    doubtful = http.client.HTTPSConnection("localhost", served.port, context=context)
    with closing(doubtful), pytest.raises(ssl.SSLCertVerificationError):
        doubtful.request("GET", "/")

    assert served.ask() == b"https 0 "
    assert caplog.records == []


def test_plain_http_on_its_port_is_answered_in_words(served):
    with closing(http.client.HTTPConnection("localhost", served.port, timeout=20)) as plain:
        plain.request("GET", "/")
        answer = plain.getresponse()

        assert answer.status == 400
        assert b"Write https://" in answer.read()


def test_old_versions_of_tls_are_not_spoken(served):
    assert served.certificate.context.minimum_version == ssl.TLSVersion.TLSv1_2


def test_a_new_certificate_is_shown_without_a_new_start_and_disturbs_no_one(served):
    with closing(served.connection()) as old:
        old.request("GET", "/")
        old.getresponse().read()
        served.names.append("10.1.2.3")
        served.certificate.look()
        assert "10.1.2.3" in names_shown(served)
        old.request("GET", "/")
        assert old.getresponse().read() == b"https 0 "


def test_waitress_looks_after_the_certificate_by_itself(authority):
    served = Served(authority)
    served.names.append("10.1.2.3")
    with running(served):  # the first round of the loop sees to what is due
        served.ask()
        assert "10.1.2.3" in names_shown(served)


def test_what_cannot_be_renewed_serves_on_and_is_logged(served, caplog):
    (served.authority.folder / "issuer.pem").write_text("spilt lye")
    served.names.append("10.1.2.3")
    served.certificate.look()

    assert served.ask() == b"https 0 "
    assert "connect every phone again" in caplog.text


def test_a_damaged_certificate_is_said_in_words(authority):
    authority.server_file(NAMES, datetime.now(UTC)).write_text("spilt lye")
    with pytest.raises(AuthorityUnusable, match="Delete it, and it is made anew"):
        ServerCertificate(authority, lambda: NAMES)


def names_shown(served: Served) -> set[str]:
    with closing(served.connection()) as connection:
        connection.connect()
        assert isinstance(connection.sock, ssl.SSLSocket)
        certificate: Any = connection.sock.getpeercert()
        return {value for _, value in certificate["subjectAltName"]}
