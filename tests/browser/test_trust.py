"""A phone that trusts the workshop's own authority, and one that does not, by a name that is not localhost.

The demo is served as anyone would serve it, on an address of this machine that stands for one in a network.
Chromium takes whom to trust from a folder of its user, so each gets a home of its own.
"""

from __future__ import annotations

import re
import shutil
import socket
import ssl
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, Playwright, expect

from soapshop.demo.sign_in import PASSWORD, USERNAME
from tests.browser import chromium
from tests.browser.conftest import PATIENCE
from tests.browser.demo import served
from tests.browser.network import network_to
from tests.browser.offline import IN_THE_BOOK, pour_of_the_demo
from tests.browser.steps import heading, main, photo, press
from tests.browser.test_accessibility import violations
from tests.browser.test_layout import TARGET, TOO_LOW, TOO_WIDE
from tests.forged import forged

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform != "linux", reason="needs a second address of this machine, and NSS"),
]

HOST, ADDRESS = "soapshop.test", "127.0.0.2"  # RFC 6761: .test is never a real name


@dataclass(frozen=True)
class Workshop:
    """The addresses as a phone reaches them, and the folder of the authority."""

    plain: str
    secure: str
    folder: Path


@pytest.fixture(scope="module")
def workshop(new_demo: Callable[[], Path]) -> Iterator[Workshop]:
    data = new_demo()
    with served(data, "--host", ADDRESS, "--tls-port", "0", SOAPSHOP_HOSTS=HOST) as printed:
        addresses = re.findall(rf"(https?)://{re.escape(ADDRESS)}:(\d+)", printed)
        ports = dict(addresses)
        yield Workshop(f"http://{HOST}:{ports['http']}", f"https://{HOST}:{ports['https']}", data / "tls")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The home of someone who trusts nobody yet."""
    certutil(tmp_path, "-N", "--empty-password")
    return tmp_path


def certutil(home: Path, *arguments: str) -> None:
    if not (tool := shutil.which("certutil")):
        chromium.cannot_run("No certutil found; install it, on Debian with: apt install libnss3-tools")
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True, exist_ok=True)
    subprocess.run([tool, "-d", f"sql:{store}", *arguments], check=True, capture_output=True)


def trust(home: Path, workshop: Workshop) -> None:
    """What a phone's settings do: 'C' takes it for an authority over websites."""
    certutil(home, "-A", "-n", "soapshop", "-t", "C,,", "-i", str(workshop.folder / "authority.pem"))


@contextmanager
def phone(playwright: Playwright, home: Path) -> Iterator[BrowserContext]:
    with browser_of(playwright, home) as browser:
        yield browser.new_context(**chromium.PHONE)


@contextmanager
def browser_of(playwright: Playwright, home: Path) -> Iterator[Browser]:
    browser = chromium.start(
        playwright,
        chromium.needed(),
        options=[f"--host-resolver-rules=MAP *.test {ADDRESS}"],
        environment={"HOME": str(home)},
    )
    yield browser
    browser.close()


def sign_in(page: Page, address: str) -> None:
    page.goto(f"{address}/sign-in/")
    page.get_by_label("Sign-in name").fill(USERNAME)
    page.get_by_label("Password").fill(PASSWORD)
    press(page, "Sign in")
    expect(heading(page)).to_have_text("Today")


def test_a_phone_that_trusts_the_workshop_is_connected(running_playwright, workshop, home):
    trust(home, workshop)
    with phone(running_playwright, home) as context:
        page = context.new_page()
        page.goto(f"{workshop.plain}/connect/")
        expect(main(page)).to_contain_text("This is the plain address.")
        assert not page.evaluate("window.isSecureContext")
        page.get_by_role("link", name="Open the secure address").first.tap()
        expect(main(page)).to_contain_text("Sign in here")
        assert page.url == f"{workshop.secure}/connect/"
        assert page.evaluate("window.isSecureContext")

        sign_in(page, workshop.secure)
        page.goto(f"{workshop.secure}/connect/")
        page.evaluate("navigator.serviceWorker.register('/service-worker.js')")
        expect(main(page)).to_contain_text("This phone is connected.")
        expect(main(page).get_by_text("Works here")).to_have_count(3)
        sessions = [cookie["name"] for cookie in context.cookies() if "session" in cookie["name"]]
        assert sessions == ["__Host-soapshop_session"]


def test_a_phone_that_trusts_the_workshop_pours_without_network(running_playwright, workshop, home, tmp_path):
    trust(home, workshop)
    server = f"https://{ADDRESS}:{urlsplit(workshop.secure).port}"
    with network_to(server, ADDRESS) as network, browser_of(running_playwright, home) as browser:
        address = f"https://{HOST}:{network.port}"
        page = browser.new_context(**chromium.PHONE, base_url=address).new_page()
        page.set_default_timeout(PATIENCE)
        sign_in(page, address)
        pour_of_the_demo(page, network, photo(tmp_path))
        network.join()
        expect(main(page)).to_contain_text(IN_THE_BOOK)


def test_a_phone_that_does_not_is_warned_and_can_use_all_else_at_the_plain_address(
    running_playwright, workshop, home
):
    with phone(running_playwright, home) as context:
        assert refusal(context.new_page(), workshop.secure) == "ERR_CERT_AUTHORITY_INVALID"

        page = context.new_page()
        sign_in(page, workshop.plain)
        page.goto(f"{workshop.plain}/pour/")
        expect(main(page)).to_contain_text(
            "This is the plain address, where a phone cannot pour without network."
        )
        main(page).get_by_role("link", name="Connect it").tap()
        expect(heading(page)).to_have_text("Connect a phone")
        expect(main(page).get_by_text("At the secure address only")).to_have_count(3)
        with page.expect_download() as download:
            main(page).get_by_role("link", name="Download the certificate").locator(
                "visible=true"
            ).first.tap()
        assert download.value.suggested_filename == "soapshop-authority.crt"
        assert download.value.path().read_bytes() == ssl.PEM_cert_to_DER_cert(
            (workshop.folder / "authority.pem").read_text()
        )


def test_one_stays_signed_in_at_both_addresses_of_one_host(running_playwright, workshop, home):
    trust(home, workshop)
    with phone(running_playwright, home) as context:
        page = context.new_page()
        sign_in(page, workshop.secure)
        sign_in(page, workshop.plain)
        for address in (workshop.secure, workshop.plain):
            page.goto(address)
            expect(heading(page)).to_have_text("Today")


@pytest.mark.parametrize("device", ["phone", "desktop"])
def test_the_page_can_be_read_by_everyone_and_fits_the_screen(running_playwright, workshop, home, device):
    options = chromium.PHONE if device == "phone" else {**chromium.DESKTOP, "color_scheme": "dark"}
    with browser_of(running_playwright, home) as browser:
        page = browser.new_context(**options).new_page()
        page.goto(f"{workshop.plain}/connect/")
        page.evaluate("for (const one of document.querySelectorAll('main details')) one.open = true")

        assert main(page).locator("details[open]").count() == 3
        assert violations(page) == []
        assert page.evaluate(TOO_WIDE) == []
        assert page.evaluate(TOO_LOW, TARGET) == []


@pytest.mark.parametrize(("name", "answer"), [("bank.test", "ERR_CERT_INVALID"), (HOST, "")])
def test_who_steals_the_data_folder_cannot_pose_as_another_site(
    running_playwright, workshop, home, tmp_path, name, answer
):
    """The second case is the control: for the workshop's own name the forgery works."""
    trust(home, workshop)
    stolen = tmp_path / "forged.pem"
    stolen.write_text(forged(workshop.folder / "issuer.pem", name))
    with impostor(stolen) as port, phone(running_playwright, home) as context:
        assert refusal(context.new_page(), f"https://{name}:{port}") == answer


@contextmanager
def impostor(certificate: Path) -> Iterator[int]:
    """Answers 'posing' over TLS to whoever believes it."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    listener = socket.create_server((ADDRESS, 0))

    def pose() -> None:
        with suppress(OSError):  # the listener is closed in the end
            while True:
                plain, _ = listener.accept()
                with suppress(OSError), context.wrap_socket(plain, server_side=True) as connection:
                    connection.recv(4096)
                    connection.send(
                        b"HTTP/1.1 200 OK\r\nContent-Length: 6\r\nConnection: close\r\n\r\nposing"
                    )

    Thread(target=pose, daemon=True).start()
    yield listener.getsockname()[1]
    listener.shutdown(socket.SHUT_RDWR)
    listener.close()


def refusal(page: Page, address: str) -> str:
    """Why Chromium does not open it; '' if it does."""
    try:
        page.goto(address)
    except Error as problem:
        found = re.search(r"net::(\w+)", problem.message)
        return found[1] if found else problem.message
    return ""
