"""A first visit by phone to the demo as it is served: little comes over the network, and nothing jumps.

How long it takes hangs on what else the machine does, so that is measured apart: tests/bench/first_visit.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.chromium import PHONE
from tests.browser.conftest import PATIENCE
from tests.browser.demo import served_demo, sign_in
from tests.browser.network import Network, network_to
from tests.browser.slow_phone import visit

pytestmark = pytest.mark.browser

LARGEST = 150_000  # bytes on the wire
LARGEST_SHIFT = 0.02
SETTLED = 3_000  # milliseconds: by then a service worker has fetched what it keeps


@pytest.fixture(scope="module")
def demo(new_demo: Callable[[], Path]) -> Iterator[str]:
    with served_demo(new_demo()) as address:
        yield address


@pytest.fixture(scope="module")
def cookies(running_chromium: Browser, demo: str) -> list[Any]:
    """Those of someone who is signed in."""
    context = running_chromium.new_context(**PHONE)
    context.set_default_timeout(PATIENCE)
    sign_in(context.new_page(), demo)
    found = context.cookies()
    context.close()
    return found


@pytest.fixture
def network(demo: str) -> Iterator[Network]:
    with network_to(demo) as network:
        yield network


def test_the_first_page_of_all_is_small_and_stands_still(running_chromium: Browser, network: Network):
    context = running_chromium.new_context(**PHONE)
    seen = visit(context.new_page(), network, "/sign-in/")
    context.close()

    assert seen.received < LARGEST
    assert seen.shift <= LARGEST_SHIFT


@pytest.mark.parametrize("path", ["/", "/rack/", "/batches/1/"])
def test_a_phone_that_comes_back_with_nothing_kept_gets_little(
    running_chromium: Browser, network: Network, cookies: list[Any], path: str
):
    context = running_chromium.new_context(**PHONE)
    context.add_cookies([{**cookie, "domain": "localhost"} for cookie in cookies])
    page = context.new_page()
    before = network.received
    seen = visit(page, network, path)
    page.wait_for_timeout(SETTLED)
    pictures = page.evaluate(
        "performance.getEntriesByType('resource').filter(one => one.name.includes('/photos/'))"
        ".reduce((sum, one) => sum + one.transferSize, 0)"
    )
    assert page.url == f"{network.address}{path}"
    context.close()

    assert seen.shift <= LARGEST_SHIFT
    assert network.received - before - pictures < LARGEST


def test_signing_in_and_all_of_today_send_little(running_chromium: Browser, demo: str) -> None:
    context = running_chromium.new_context(**PHONE)
    page = context.new_page()
    network = context.new_cdp_session(page)
    network.send("Network.enable")
    sent: list[float] = []
    network.on("Network.loadingFinished", lambda event: sent.append(event["encodedDataLength"]))
    sign_in(page, demo)
    page.wait_for_load_state("networkidle")
    context.close()

    assert len(sent) > 8
    assert sum(sent) < LARGEST
