"""`manage.py serve`: where the workshop is found, and a real server started and stopped."""

import http.client
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
from argparse import ArgumentTypeError
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np
import pytest
import zxingcpp
from django.core.management import CommandError

from soapshop import network
from soapshop.authority import Authority
from soapshop.bootstrap import ROOT
from soapshop.serving import places
from soapshop.serving.command import names_now, port_number
from soapshop.serving.places import Addresses, addresses, qr_code
from soapshop.serving.server import listen
from soapshop.serving.static import collect_static_files

EVERYWHERE = "0.0.0.0"  # noqa: S104


class TestAddresses:
    def test_on_every_network_the_phone_gets_the_address_of_the_workshops(self, monkeypatch):
        monkeypatch.setattr(places, "lan_address", lambda: "192.0.2.7")
        assert addresses(EVERYWHERE, 8000) == Addresses("http://localhost:8000", "http://192.0.2.7:8000")

    def test_without_a_network_the_phone_gets_the_name_of_the_computer(self, monkeypatch):
        monkeypatch.setattr(places, "lan_address", lambda: "127.0.0.1")
        monkeypatch.setattr(socket, "gethostname", lambda: "bench")
        assert addresses(EVERYWHERE, 8000).phone == "http://bench.local:8000"

    @pytest.mark.parametrize("host", ["localhost", "127.0.0.1"])
    def test_this_computer_only_has_none_for_a_phone(self, host):
        assert addresses(host, 8000) == Addresses(f"http://{host}:8000", "")

    def test_one_chosen_address_is_for_both(self):
        assert addresses("192.0.2.9", 80) == Addresses("http://192.0.2.9:80", "http://192.0.2.9:80")

    def test_ipv6_is_bracketed(self):
        assert addresses("2001:db8::1", 8000).phone == "http://[2001:db8::1]:8000"

    def test_a_phone_begins_with_the_page_that_connects_it_to_the_secure_address(self):
        found = addresses("192.0.2.9", 8000, 8443)
        assert found.secure == "https://192.0.2.9:8443"
        assert found.first_on_a_phone == "http://192.0.2.9:8000/connect/"

    def test_without_a_secure_address_it_begins_with_the_workshop(self):
        assert addresses("192.0.2.9", 8000).first_on_a_phone == "http://192.0.2.9:8000"

    def test_this_computer_only_needs_no_secure_one(self):
        assert addresses("localhost", 8000, 8443) == Addresses("http://localhost:8000", "")


class TestNames:
    def test_the_app_answers_under_the_address_of_a_network_it_came_into(self, settings, monkeypatch):
        settings.ALLOWED_HOSTS = ["localhost", "192.0.2.7"]
        monkeypatch.delenv("SOAPSHOP_HOSTS")
        monkeypatch.setattr(network, "lan_address", lambda: "192.0.2.9")
        assert {"192.0.2.7", "192.0.2.9", "localhost"} <= set(names_now())
        assert {"192.0.2.7", "192.0.2.9", "[::1]"} <= set(settings.ALLOWED_HOSTS)

    def test_hosts_that_were_chosen_stay_the_only_ones(self, settings, monkeypatch):
        settings.ALLOWED_HOSTS = ["soap.lan"]
        monkeypatch.setenv("SOAPSHOP_HOSTS", "soap.lan")
        assert "soap.lan" in names_now()
        assert settings.ALLOWED_HOSTS == ["soap.lan"]


class TestQrCode:
    def test_leads_to_the_address(self):
        address = "http://192.0.2.7:8000"
        assert decoded(qr_code(address, colours=False)) == address

    def test_is_light_on_dark_whatever_the_terminal(self):
        lines = qr_code("http://192.0.2.7:8000", colours=True).splitlines()
        assert all(line.strip().startswith("\033[97;40m") and line.endswith("\033[0m") for line in lines)

    def test_fits_a_small_terminal(self):
        lines = qr_code("http://a-rather-long-name.local:65535", colours=False).splitlines()
        assert max(len(line) for line in lines) <= 60
        assert len(lines) <= 24


def decoded(drawing: str) -> str:
    """What a camera reads off the half blocks, whose upper and lower halves are modules."""
    halves = {" ": (0, 0), "▀": (255, 0), "▄": (0, 255), "█": (255, 255)}
    lines = [line[2:] for line in drawing.splitlines()]
    modules = [[halves[sign][half] for sign in line] for line in lines for half in (0, 1)]
    picture = np.pad(np.array(modules, dtype=np.uint8), 2, constant_values=255)
    (code,) = zxingcpp.read_barcodes(picture.repeat(6, axis=0).repeat(6, axis=1))
    return code.text


class TestListening:
    def test_a_port_in_use_is_said_with_what_to_do(self):
        with socket.create_server(("127.0.0.1", 0)) as taken:
            port = taken.getsockname()[1]
            with pytest.raises(CommandError, match=rf"Port {port} is in use.*--port"):
                listen("127.0.0.1", port)

    def test_a_host_that_is_not_ours_is_said(self):
        with pytest.raises(CommandError, match="no address of this computer"):
            listen("192.0.2.1", 0)

    @pytest.mark.parametrize("text", ["-1", "65536", "8000.5", "eight", "", "²"])
    def test_what_is_no_port_is_refused(self, text):
        with pytest.raises(ArgumentTypeError, match="no port"):
            port_number(text)

    def test_a_port_is_read(self):
        assert port_number("8080") == 8080


def test_static_files_are_collected_again_only_when_they_have_changed(settings, tmp_path):
    settings.STATIC_ROOT, settings.STATICFILES_DIRS = tmp_path / "root", [tmp_path / "source"]
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    source, collected = tmp_path / "source" / "soap.css", tmp_path / "root" / "soap.css"
    source.parent.mkdir()
    source.write_text("bar {}")
    collect_static_files()
    collected.write_text("left alone")
    collect_static_files()
    assert collected.read_text() == "left alone"
    source.write_text("bar { cured: 1 }")
    collect_static_files()
    assert collected.read_text() == "bar { cured: 1 }"


@contextmanager
def served(data: Path, *options: str, **environment: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A workshop served on free ports of this machine, with all it printed before it was ready."""
    unset = {"DJANGO_SETTINGS_MODULE", "SOAPSHOP_HOSTS", "SOAPSHOP_DATA", "DATABASE_URL", "PYTHONUNBUFFERED"}
    where = options or ("--host", "127.0.0.1")
    # Tests run in the background ignore Ctrl-C, and would hand that down to the server.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    server = subprocess.Popen(
        [sys.executable, "manage.py", "serve", *where, "--port", "0", "--data", str(data)],
        cwd=ROOT,
        env={name: value for name, value in os.environ.items() if name not in unset} | environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        assert server.stdout
        said = ""
        for line in server.stdout:
            said += line
            if "Ctrl-C" in line:
                break
        yield server, said
    finally:
        server.kill()
        server.communicate()


def get(said: str, path: str, headers: dict[str, str] | None = None) -> tuple[int, str]:
    """The status and the Location of the answer from the first address that was printed."""
    address = re.search(r"http://\S+", said)
    assert address, said
    with closing(http.client.HTTPConnection(urlsplit(address[0]).netloc, timeout=30)) as connection:
        connection.request("GET", path, headers=headers or {})
        answer = connection.getresponse()
        return answer.status, answer.getheader("Location") or ""


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One data folder for all servers, whose static files are then compressed once."""
    folder = tmp_path_factory.mktemp("served") / "workshop"
    folder.mkdir()
    return folder


def test_a_new_workshop_is_served_with_a_one_time_code_and_ends_cleanly(data):
    with served(data) as (server, said):
        assert re.search("one-time code +[A-Z0-9]{4}-", said)
        assert get(said, "/")[0] == 302
        server.send_signal(signal.SIGINT)
        rest, _ = server.communicate(timeout=30)
        assert server.returncode == 0
        assert rest.strip() == "Stopped. Everything is saved."
    assert (data / "soapshop.sqlite3").stat().st_size > 0


def test_behind_a_proxy_the_visitors_scheme_counts_and_the_systems_request_to_end_is_heeded(data):
    with served(data, SOAPSHOP_TLS="1", SOAPSHOP_BEHIND_PROXY="1") as (server, said):
        status, location = get(said, "/")
        assert (status, location.split(":")[0]) == (301, "https")
        assert get(said, "/", {"X-Forwarded-Proto": "https"})[0] == 302
        server.terminate()
        server.communicate(timeout=30)
        assert server.returncode == 0


# On an address of this machine that is taken for one in a network. Others than Linux do not have it.
NETWORK = ("--host", "127.0.0.2")
only_linux = pytest.mark.skipif(sys.platform != "linux", reason="needs a second address of this machine")


@only_linux
def test_the_workshop_is_served_at_a_secure_address_too(data):
    with served(data, *NETWORK, "--tls-port", "0") as (server, said):
        secure = re.search(r"https://127\.0\.0\.2:(\d+)", said)
        assert secure, said
        context = ssl.create_default_context(cafile=data / "tls" / "authority.pem")
        with closing(
            http.client.HTTPSConnection("127.0.0.2", int(secure[1]), context=context, timeout=30)
        ) as connection:
            connection.request("GET", "/connect/")
            page = connection.getresponse().read().decode()
        assert "This is the secure address" in page
        for line in Authority(data / "tls").fingerprint().splitlines():
            assert line in said
            assert line in page
        server.terminate()
        server.communicate(timeout=30)
        assert server.returncode == 0


@only_linux
def test_a_taken_port_only_costs_the_secure_address(data):
    with socket.create_server(("127.0.0.2", 0)) as taken:
        port = taken.getsockname()[1]
        with served(data, *NETWORK, "--tls-port", str(port)) as (_, said):
            assert f"There is no secure address this time. Port {port} is in use" in said
            assert "Try another --tls-port" in said
            assert "https://" not in said
            assert get(said, "/connect/")[0] == 200


@only_linux
@pytest.mark.parametrize("without", [["--no-tls"], []], ids=["asked", "proxy"])
def test_it_can_be_left_out_and_is_behind_a_proxy(data, without):
    environment = {} if without else {"SOAPSHOP_BEHIND_PROXY": "1"}
    with served(data, *NETWORK, "--tls-port", "0", *without, **environment) as (_, said):
        assert "https://" not in said
        assert "no secure address" not in said


@only_linux
def test_an_authority_that_cannot_be_used_is_said_in_words(data):
    kept = Authority(data / "tls").server_file(["localhost"], datetime.now(UTC)).with_name("authority.pem")
    good = kept.read_bytes()
    kept.write_text("spilt lye")
    with served(data, *NETWORK, "--tls-port", "0") as (_, said):
        assert "There is no secure address this time. The workshop's certificates in" in said
        assert get(said, "/connect/")[0] == 200
    kept.write_bytes(good)


@only_linux
def test_a_name_that_came_later_than_the_authority_is_said_in_words(data):
    Authority(data / "tls").server_file(["localhost"], datetime.now(UTC))
    with served(data, *NETWORK, "--tls-port", "0", SOAPSHOP_HOSTS="soap.example") as (_, said):
        assert re.search(r"not good for .*soap\.example: the workshop", said)
