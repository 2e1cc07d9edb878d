"""A phone on a slow network: how soon it shows something, by Chromium's own tracing.

Network and processor are slowed as Lighthouse does it for phones when it throttles by the browser's tools
(mobileSlow4G: 562.5 ms latency, 1,474.56 and 675 kbit/s; processor slowed 4 times). Figures from memory; they
stand in Lighthouse's core/config/constants.js.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Browser, Page

from tests.browser.offline import Network

KBIT = 1000 / 8
SLOW_4G = {
    "offline": False,
    "latency": 562.5,
    "downloadThroughput": 1474.56 * KBIT,
    "uploadThroughput": 675 * KBIT,
}
SLOWER_PROCESSOR = {"rate": 4}
TRACED = ["loading", "blink.user_timing"]
PAINTED = "performance.getEntriesByName('first-contentful-paint').length > 0"


@dataclass(frozen=True)
class Visit:
    """Seconds to the largest paint, the sum of all layout shifts, and bytes that came over the network."""

    largest_paint: float
    shift: float
    received: int


def visit(running: Browser, page: Page, network: Network, path: str) -> Visit:
    """Opens a page as on a slow phone, and waits until nothing more comes."""
    slow_down(page)
    before = network.received
    running.start_tracing(page=page, categories=TRACED)
    page.goto(f"{network.address}{path}", wait_until="networkidle")
    page.wait_for_function(PAINTED)
    page.evaluate("new Promise(requestAnimationFrame)")
    events = json.loads(running.stop_tracing())["traceEvents"]
    return Visit(*paint_and_shift(events), network.received - before)


def slow_down(page: Page) -> None:
    tools = page.context.new_cdp_session(page)
    tools.send("Network.enable")
    tools.send("Network.emulateNetworkConditions", SLOW_4G)
    tools.send("Emulation.setCPUThrottlingRate", SLOWER_PROCESSOR)


def paint_and_shift(events: list[dict[str, Any]]) -> tuple[float, float]:
    """From the trace of one navigation, whose clock counts microseconds."""
    started = [event for event in events if event["name"] == "navigationStart"]
    start = max(event["ts"] for event in started if event["args"].get("data", {}).get("documentLoaderURL"))
    painted = [event["ts"] for event in events if event["name"] == "largestContentfulPaint::Candidate"]
    shifts = [event["args"]["data"]["score"] for event in events if event["name"] == "LayoutShift"]
    return (max(painted) - start) / 1e6, sum(shifts)
