"""Phones that are closed and opened again with all that they have kept."""

from __future__ import annotations

import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from batches.models import Batch
from soapshop.bootstrap import ROOT
from soapshop.core.models import User
from tests.browser import chromium
from tests.browser.conftest import PATIENCE, session_of
from tests.browser.demo import COMPUTER, environment_of_its_own
from tests.browser.network import Network
from tests.browser.scenes import on
from tests.browser.steps import heading, main, press

IN_THE_BOOK = "Everything is in the workshop's book."
IN_TWO_MONTHS = 2_000_000_000  # seconds since 1970: a session outlives the browser, as the server's do


class Phone:
    """A phone with a memory of its own in a folder. `faults` are errors in the scripts of its pages."""

    def __init__(self, running: Browser, folder: Path, network: Network, **options: Any) -> None:
        self.faults: list[str] = []
        self._running, self._folder, self._network, self._options = running, folder, network, options
        self._context: BrowserContext | None = None
        self.turn_on()

    @property
    def context(self) -> BrowserContext:
        assert self._context
        return self._context

    @property
    def page(self) -> Page:
        """The page that was opened last."""
        return self.context.pages[-1]

    def turn_on(self) -> None:
        self._context = self._running.browser_type.launch_persistent_context(
            self._folder,
            executable_path=chromium.needed(),
            args=[*chromium.QUIET, "--no-sandbox"],
            base_url=self._network.address,
            **{**chromium.PHONE, **self._options},
        )
        self._context.set_default_timeout(PATIENCE)
        self._context.on("weberror", lambda error: self.faults.append(str(error.error)))

    def turn_off(self) -> None:
        self.context.close()
        self._context = None

    def restart(self) -> None:
        self.turn_off()
        self.turn_on()

    def sign_in(self, user: User) -> None:
        cookie = {**session_of(user), "url": self._network.address, "expires": IN_TWO_MONTHS}
        self.context.add_cookies([cookie])  # type: ignore[list-item]

    def open_bench(self, batch: Batch) -> Page:
        """The bench of a batch, which from then on is kept."""
        page = self.page
        page.goto(on(batch, "weigh"))
        expect(page.locator(f'body[data-kept="{batch.pk}"]')).to_be_attached()
        return page

    def sign_out(self) -> None:
        self.page.goto(reverse("core:account"))
        self.page.get_by_text("More", exact=True).tap()
        self.page.get_by_role("button", name="Sign out").locator("visible=true").tap()
        expect(self.page).to_have_url(re.compile(reverse("core:sign_in")))

    def close_tab(self) -> None:
        """Closes the page; an empty one stays, since a browser without any would end."""
        old = self.page
        self.context.new_page()
        old.close()

    def throw_away(self) -> None:
        if self._context:
            self.turn_off()
        shutil.rmtree(self._folder, ignore_errors=True)


class DemoServer:
    """The demo workshop as it is served to makers; a process that can be killed and started again."""

    def __init__(self, folder: Path) -> None:
        self.database = folder / "soapshop.sqlite3"
        self._command = [sys.executable, "manage.py", "demo", "--data", str(folder), "--port", "0"]
        self._command += ["--host", "127.0.0.1", "--no-tls"]
        self._process: subprocess.Popen[str] | None = None
        self.start()

    def start(self) -> None:
        self._process = subprocess.Popen(
            self._command, cwd=ROOT, env=environment_of_its_own(), stdout=subprocess.PIPE, text=True
        )
        assert self._process.stdout
        printed = iter(self._process.stdout.readline, "")
        self.address = next(found[1] for line in printed if (found := COMPUTER.search(line)))

    def kill(self) -> None:
        """As a power cut would: nothing is finished."""
        assert self._process
        self._process.kill()
        self._process.communicate()

    def rows(self, question: str) -> list[tuple[Any, ...]]:
        with closing(sqlite3.connect(self.database)) as database:
            return database.execute(question).fetchall()


def weigh_rest(page: Page) -> None:
    """On the kept bench: all that waits as shown, with the lye in its place, up to the last look."""
    while (title := heading(page).inner_text()) != "Pour":
        before = bar(page).inner_text()
        press(page, "The lye is mixed" if title == "Mix the lye" else "As shown")
        expect(bar(page)).not_to_have_text(before)


def pour(page: Page, words: str, picture: Path | None = None) -> None:
    expect(heading(page)).to_have_text("Pour")
    page.get_by_label("How it went").fill(words)
    if picture:
        page.get_by_label("First photo").set_input_files(picture)
    press(page, "Poured")
    expect(heading(page)).to_contain_text("Poured on this phone at")


def note_with_photo(page: Page, words: str, picture: Path) -> None:
    page.get_by_role("link", name="Log").tap()
    expect(heading(page)).to_have_text("What happens")
    page.get_by_label("Note").fill(words)
    page.get_by_label("Photo").set_input_files(picture)
    press(page, "Keep the note")
    expect(main(page).get_by_role("listitem").filter(has_text=words)).to_contain_text("with a photo")
    page.get_by_role("link", name="Back to the bench").tap()


def bar(page: Page) -> Locator:
    """What the pocket bench says of the things that wait."""
    return page.locator("#bar")


def kept_bench(page: Page) -> None:
    """Wait until the page is the one that the phone keeps."""
    expect(page.locator("main[data-pocket]")).to_be_attached()
    expect(bar(page)).to_contain_text("waiting")


def pour_of_the_demo(page: Page, network: Network, picture: Path) -> None:
    """The batch that the demo has planned, poured without network and with two photos."""
    page.goto(reverse("batches:pour"))
    main(page).locator('a[href$="/weigh/"]').first.tap()
    expect(page.locator("body[data-kept]")).to_be_attached()
    network.cut()
    press(page, "As shown")
    kept_bench(page)
    weigh_rest(page)
    note_with_photo(page, "Quick.", picture)
    pour(page, "Poured in the dark.", picture)
