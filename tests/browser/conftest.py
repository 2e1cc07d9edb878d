"""Real browsers at a live server, each signed in as someone. Whatever goes wrong in one fails its test."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright

from soapshop.core.models import User
from tests.browser import chromium
from tests.browser.demo import make_demo
from tests.browser.watch import Watch

PATIENCE = 20_000  # milliseconds: two workers and Chromium share two cores
FAILED = pytest.StashKey[bool]()


def pytest_itemcollected(item: pytest.Item) -> None:
    """Of several workers, one runs all tests of a file: what a module's fixtures make is made once."""
    if item.path.parent == Path(__file__).parent:
        item.add_marker(pytest.mark.xdist_group(item.path.stem))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Any:
    report = yield
    item.stash[FAILED] = item.stash.get(FAILED, False) or report.failed
    return report


@pytest.fixture(scope="package")
def running_playwright() -> Iterator[Playwright]:
    chromium.needed()
    expect.set_options(timeout=PATIENCE)
    # Playwright leaves its event loop running in this thread, where Django then refuses the database.
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        yield playwright


@pytest.fixture(scope="package")
def running_chromium(running_playwright: Playwright) -> Browser:
    return chromium.start(running_playwright, chromium.needed())


@pytest.fixture(scope="session")
def demo_made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo-made-once")
    make_demo(folder)
    return folder


@pytest.fixture(scope="session")
def new_demo(demo_made_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[], Path]:
    """The folder of a demo as it was made: a copy, in which one may do anything."""

    def copied() -> Path:
        return Path(shutil.copytree(demo_made_once, tmp_path_factory.mktemp("demo") / "data"))

    return copied


class Browsers:
    """Opens a browser for each person of a test. `watches` are in the order in which they were opened."""

    def __init__(self, running: Browser, address: str) -> None:
        self.address = address
        self.watches: list[Watch] = []
        self._running = running
        self._contexts: list[BrowserContext] = []

    def phone(self, user: User | None, **options: Any) -> Page:
        """A phone of 360 x 740 in which someone is signed in, or nobody."""
        return self._open(user, {**chromium.PHONE, **options})

    def desktop(self, user: User | None, **options: Any) -> Page:
        """A window of 1280 x 800."""
        return self._open(user, {**chromium.DESKTOP, **options})

    @property
    def faults(self) -> list[str]:
        return [fault for watch in self.watches for fault in watch.faults]

    def take_pictures(self, folder: Path, name: str) -> None:
        folder.mkdir(exist_ok=True)
        pages = [page for context in self._contexts for page in context.pages]
        for number, page in enumerate(pages, 1):
            page.screenshot(path=folder / f"{name}-{number}.png", full_page=True)

    def close(self) -> None:
        for context in self._contexts:
            context.close()

    def _open(self, user: User | None, options: dict[str, Any]) -> Page:
        context = self._running.new_context(base_url=self.address, **options)
        context.set_default_timeout(PATIENCE)
        self._contexts.append(context)
        self.watches.append(Watch(context))
        if user:
            context.add_cookies([{**session_of(user), "url": self.address}])
        return context.new_page()


def session_of(user: User) -> Any:
    """The cookie of someone who is signed in."""
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    name = settings.SESSION_COOKIE_NAME
    return {"name": name, "value": client.cookies[name].value}


@pytest.fixture
def browsers(
    request: pytest.FixtureRequest, running_chromium: Browser, transactional_db: None, live_server: Any
) -> Iterator[Browsers]:
    opened = Browsers(running_chromium, live_server.url)
    yield opened
    if opened.faults or request.node.stash.get(FAILED, False):
        name = re.sub(r"\W+", "-", request.node.name).strip("-")[:120]
        opened.take_pictures(request.config.rootpath / "test-results", name)
    opened.close()
    assert opened.faults == []


@pytest.fixture
def phone(browsers: Browsers) -> Page:
    """A page of the app, under its content security policy, with nobody signed in."""
    page = browsers.phone(None)
    page.goto("/sign-in/")
    return page
