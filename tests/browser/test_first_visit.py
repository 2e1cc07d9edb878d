"""How soon a phone shows something over a slow network: the demo as it is served, by Chromium's own tracing.

Network and processor are slowed as Lighthouse does it for phones when it throttles by the browser's tools:
https://github.com/GoogleChrome/lighthouse/blob/main/docs/throttling.md and core/config/constants.js
(mobileSlow4G: 562.5 ms latency, 1,474.56 and 675 kbit/s; CPU slowed 4 times). Figures from memory.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.browser.chromium import PHONE
from tests.browser.demo import served_demo
from tests.browser.wire import Wire, wire_to

pytestmark = pytest.mark.browser

KBIT = 1000 / 8
SLOW_4G = {
    "offline": False,
    "latency": 562.5,
    "downloadThroughput": 1474.56 * KBIT,
    "uploadThroughput": 675 * KBIT,
}
SLOWER_PROCESSOR = {"rate": 4}
LONGEST_FIRST, LONGEST_LATER = 2.5, 1.0  # seconds to the largest paint
LARGEST = 150_000  # bytes on the wire
LARGEST_SHIFT = 0.02
TRACED = ["loading", "blink.user_timing"]


@dataclass(frozen=True)
class Visit:
    """Seconds to the largest paint, the sum of all layout shifts, and bytes that came over the wire."""

    largest_paint: float
    shift: float
    received: int


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served_demo(tmp_path_factory.mktemp("demo")) as address:
        yield address


@pytest.fixture
def wire(demo: str) -> Iterator[Wire]:
    with wire_to(demo) as wire:
        yield wire


@pytest.fixture
def phone(running_chromium: Browser) -> Iterator[BrowserContext]:
    context = running_chromium.new_context(**PHONE)
    yield context
    context.close()


def visit(running: Browser, page: Page, wire: Wire, path: str) -> Visit:
    """Opens a page as on a slow phone, and waits until nothing more comes."""
    slow_down(page)
    before = wire.received
    running.start_tracing(page=page, categories=TRACED)
    page.goto(f"{wire.address}{path}", wait_until="networkidle")
    events = json.loads(running.stop_tracing())["traceEvents"]
    return Visit(*paint_and_shift(events), wire.received - before)


def slow_down(page: Page) -> None:
    tools = page.context.new_cdp_session(page)
    tools.send("Network.enable")
    tools.send("Network.emulateNetworkConditions", SLOW_4G)
    tools.send("Emulation.setCPUThrottlingRate", SLOWER_PROCESSOR)


def paint_and_shift(events: list[dict]) -> tuple[float, float]:
    """From the trace of one navigation, whose clock counts microseconds."""
    started = [event for event in events if event["name"] == "navigationStart"]
    start = max(event["ts"] for event in started if event["args"].get("data", {}).get("documentLoaderURL"))
    painted = [event["ts"] for event in events if event["name"] == "largestContentfulPaint::Candidate"]
    shifts = [event["args"]["data"]["score"] for event in events if event["name"] == "LayoutShift"]
    return (max(painted) - start) / 1e6, sum(shifts)


@pytest.mark.parametrize("path", ["/sign-in/"])
def test_the_first_page_of_all_comes_soon_and_is_small(
    running_chromium: Browser, phone: BrowserContext, wire: Wire, path: str
):
    seen = visit(running_chromium, phone.new_page(), wire, path)
    assert seen.largest_paint < LONGEST_FIRST
    assert seen.received < LARGEST
    assert seen.shift <= LARGEST_SHIFT
