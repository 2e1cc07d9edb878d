"""A phone on a slow network: how soon it shows something, by what Chromium itself observed of the page.

Network and processor are slowed as Lighthouse does it for phones when it throttles by the browser's tools
(mobileSlow4G: 562.5 ms latency, 1,474.56 and 675 kbit/s; processor slowed 4 times). Figures from memory; they
stand in Lighthouse's core/config/constants.js.
"""

from __future__ import annotations

from dataclasses import dataclass

from playwright.sync_api import Page

from tests.browser.network import Network

KBIT = 1000 / 8
SLOW_4G = {
    "offline": False,
    "latency": 562.5,
    "downloadThroughput": 1474.56 * KBIT,
    "uploadThroughput": 675 * KBIT,
}
SLOWER_PROCESSOR = {"rate": 4}
PAINTED = "performance.getEntriesByName('first-contentful-paint').length > 0"
SEEN = """
kind => new Promise(found => {
  new PerformanceObserver(list => found(list.getEntries().map(entry => [entry.startTime, entry.value || 0])))
    .observe({ type: kind, buffered: true });
  setTimeout(() => found([]), 500);
})
"""


@dataclass(frozen=True)
class Visit:
    """Seconds to the largest paint, the sum of all layout shifts, and bytes that came over the network."""

    largest_paint: float
    shift: float
    received: int


def visit(page: Page, network: Network, path: str) -> Visit:
    """Opens a page as on a slow phone, and waits until nothing more comes."""
    slow_down(page)
    before = network.received
    page.goto(f"{network.address}{path}", wait_until="networkidle")
    page.wait_for_function(PAINTED)
    paints = page.evaluate(SEEN, "largest-contentful-paint")
    shifts = page.evaluate(SEEN, "layout-shift")
    return Visit(
        largest_paint=max(start for start, _ in paints) / 1000,
        shift=sum(score for _, score in shifts),
        received=network.received - before,
    )


def slow_down(page: Page) -> None:
    tools = page.context.new_cdp_session(page)
    tools.send("Network.enable")
    tools.send("Network.emulateNetworkConditions", SLOW_4G)
    tools.send("Emulation.setCPUThrottlingRate", SLOWER_PROCESSOR)
