"""A first visit by phone to the demo as it is served: little comes over the network, and nothing jumps.

How long it takes hangs on what else the machine does, so that is measured apart: tests/bench/first_visit.py.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.browser.chromium import PHONE
from tests.browser.conftest import PATIENCE
from tests.browser.demo import served_demo, sign_in
from tests.browser.offline import Network, network_to
from tests.browser.slow_phone import visit

pytestmark = pytest.mark.browser

LARGEST = 150_000  # bytes on the wire
LARGEST_SHIFT = 0.02
SETTLED = 3_000  # milliseconds: by then a service worker has fetched what it keeps


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served_demo(tmp_path_factory.mktemp("demo")) as address:
        yield address


@pytest.fixture
def network(demo: str) -> Iterator[Network]:
    with network_to(demo) as network:
        yield network


def test_the_first_page_of_all_is_small_and_stands_still(running_chromium: Browser, network: Network):
    context = running_chromium.new_context(**PHONE)
    seen = visit(running_chromium, context.new_page(), network, "/sign-in/")
    context.close()

    assert seen.received < LARGEST
    assert seen.shift <= LARGEST_SHIFT


@pytest.mark.parametrize("path", ["/", "/rack/", "/batches/1/"])
def test_a_phone_that_comes_back_with_nothing_kept_gets_little(
    running_chromium: Browser, network: Network, path: str
):
    context = running_chromium.new_context(**PHONE)
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    sign_in(page, network.address)
    cookies = context.cookies()
    context.close()

    context = running_chromium.new_context(**PHONE)
    context.add_cookies(cookies)
    page = context.new_page()
    before = network.received
    seen = visit(running_chromium, page, network, path)
    page.wait_for_timeout(SETTLED)
    pictures = page.evaluate(
        "performance.getEntriesByType('resource').filter(one => one.name.includes('/photos/'))"
        ".reduce((sum, one) => sum + one.transferSize, 0)"
    )
    context.close()

    assert seen.shift <= LARGEST_SHIFT
    assert network.received - before - pictures < LARGEST
