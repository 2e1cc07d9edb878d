"""`manage.py serve`: where the workshop is found, and a real server started and stopped."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
from argparse import ArgumentTypeError
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np
import pytest
import zxingcpp
from django.core.management import CommandError

from soapshop import serving
from soapshop.bootstrap import ROOT
from soapshop.serving import Addresses, addresses

EVERYWHERE = "0.0.0.0"  # noqa: S104


class TestAddresses:
    def test_on_every_network_the_phone_gets_the_address_of_the_workshops(self, monkeypatch):
        monkeypatch.setattr(serving, "lan_address", lambda: "192.0.2.7")
        assert addresses(EVERYWHERE, 8000) == Addresses("http://localhost:8000", "http://192.0.2.7:8000")

    def test_without_a_network_the_phone_gets_the_name_of_the_computer(self, monkeypatch):
        monkeypatch.setattr(serving, "lan_address", lambda: "127.0.0.1")
        monkeypatch.setattr(socket, "gethostname", lambda: "bench")
        assert addresses(EVERYWHERE, 8000).phone == "http://bench.local:8000"

    @pytest.mark.parametrize("host", ["localhost", "127.0.0.1"])
    def test_this_computer_only_has_none_for_a_phone(self, host):
        assert addresses(host, 8000) == Addresses(f"http://{host}:8000", "")

    def test_one_chosen_address_is_for_both(self):
        assert addresses("192.0.2.9", 80) == Addresses("http://192.0.2.9:80", "http://192.0.2.9:80")

    def test_ipv6_is_bracketed(self):
        assert addresses("2001:db8::1", 8000).phone == "http://[2001:db8::1]:8000"


class TestQrCode:
    def test_leads_to_the_address(self):
        address = "http://192.0.2.7:8000"
        assert decoded(serving.qr_code(address, colours=False)) == address

    def test_is_light_on_dark_whatever_the_terminal(self):
        lines = serving.qr_code("http://192.0.2.7:8000", colours=True).splitlines()
        assert all(line.strip().startswith("\033[97;40m") and line.endswith("\033[0m") for line in lines)

    def test_fits_a_small_terminal(self):
        lines = serving.qr_code("http://a-rather-long-name.local:65535", colours=False).splitlines()
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
                serving.listen("127.0.0.1", port)

    def test_a_host_that_is_not_ours_is_said(self):
        with pytest.raises(CommandError, match="no address of this computer"):
            serving.listen("192.0.2.1", 0)

    @pytest.mark.parametrize("text", ["-1", "65536", "8000.5", "eight", "", "²"])
    def test_what_is_no_port_is_refused(self, text):
        with pytest.raises(ArgumentTypeError, match="no port"):
            serving.port_number(text)

    def test_a_port_is_read(self):
        assert serving.port_number("8080") == 8080


def test_static_files_are_collected_again_only_when_they_have_changed(settings, tmp_path):
    settings.STATIC_ROOT, settings.STATICFILES_DIRS = tmp_path / "root", [tmp_path / "source"]
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    source, collected = tmp_path / "source" / "soap.css", tmp_path / "root" / "soap.css"
    source.parent.mkdir()
    source.write_text("bar {}")
    serving.collect_static_files()
    collected.write_text("left alone")
    serving.collect_static_files()
    assert collected.read_text() == "left alone"
    source.write_text("bar { cured: 1 }")
    serving.collect_static_files()
    assert collected.read_text() == "bar { cured: 1 }"


@contextmanager
def served(data: Path, **environment: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A workshop served on a free port of this machine, with all it printed before it was ready."""
    unset = {"DJANGO_SETTINGS_MODULE", "SOAPSHOP_HOSTS", "SOAPSHOP_DATA", "DATABASE_URL", "PYTHONUNBUFFERED"}
    server = subprocess.Popen(
        [sys.executable, "manage.py", "serve", "--host", "127.0.0.1", "--port", "0", "--data", str(data)],
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
    return tmp_path_factory.mktemp("served") / "workshop"


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
