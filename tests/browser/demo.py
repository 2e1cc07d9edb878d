"""The demo workshop, served as anyone would serve it: by `manage.py demo`, in a folder of its own."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page

from soapshop.bootstrap import ROOT
from soapshop.demo.sign_in import PASSWORD, USERNAME

OF_THE_TESTS = {"DJANGO_SETTINGS_MODULE", "SOAPSHOP_HOSTS", "SOAPSHOP_DATA", "DATABASE_URL"}
COMPUTER = re.compile(r"On this computer:\s+(http\S+)")


def make_demo(folder: Path) -> None:
    """Makes the demo in that folder; what serves it there finds it made."""
    command = [sys.executable, "manage.py", "demo", "--no-serve", "--data", str(folder)]
    subprocess.run(command, cwd=ROOT, env=environment_of_its_own(), check=True, capture_output=True)


def environment_of_its_own() -> dict[str, str]:
    return {name: value for name, value in os.environ.items() if name not in OF_THE_TESTS}


@contextmanager
def served_demo(folder: Path) -> Iterator[str]:
    """Serves the demo from that folder, making it if it is not there; gives its address."""
    with served(folder, "--host", "127.0.0.1") as printed:
        found = COMPUTER.search(printed)
        assert found, printed
        yield found[1]


@contextmanager
def served(folder: Path, *options: str, **environment: str) -> Iterator[str]:
    """Serves the demo from that folder; gives all that was printed until it was ready."""
    command = [sys.executable, "manage.py", "demo", "--port", "0", "--data", str(folder), *options]
    with subprocess.Popen(
        command,
        cwd=ROOT,
        env=environment_of_its_own() | environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as server:
        try:
            yield _printed(server)
        finally:
            server.terminate()


def sign_in(page: Page, address: str) -> None:
    page.goto(address)
    page.get_by_label("Sign-in name").fill(USERNAME)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Today").wait_for()


def _printed(server: subprocess.Popen[str]) -> str:
    assert server.stdout
    printed = ""
    for line in server.stdout:
        printed += line
        if "Ctrl-C" in line:
            return printed
    raise RuntimeError(f"The demo was not served:\n{printed}")
