"""How soon a phone on a slow network shows a page of the demo: python -m tests.bench.first_visit"""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from playwright.sync_api import Browser, sync_playwright

from tests.browser import chromium
from tests.browser.chromium import PHONE
from tests.browser.demo import served_demo, sign_in
from tests.browser.network import Network, network_to
from tests.browser.slow_phone import Visit, visit

TIMES = 3
PAGES = ["/sign-in/", "/", "/pour/", "/rack/", "/shelf/", "/stock/", "/recipes/", "/recipes/1/"]


def main() -> None:
    with (
        TemporaryDirectory() as folder,
        served_demo(Path(folder)) as server,
        network_to(server) as network,
        sync_playwright() as playwright,
    ):
        browser = chromium.start(playwright, chromium.needed())
        cookies = signed_in(browser, network)
        sys.stdout.write(f"{'page':<14}{'first':>8}{'again':>8}{'shift':>9}{'kB':>7}\n")
        for path in [*PAGES, bench_page(browser, network, cookies)]:
            kept = [] if path == "/sign-in/" else cookies
            show(path, [twice(browser, network, path, kept) for _ in range(TIMES)])


def signed_in(browser: Browser, network: Network) -> list:
    context = browser.new_context(**PHONE)
    sign_in(context.new_page(), network.address)
    cookies = context.cookies()
    context.close()
    return cookies


def bench_page(browser: Browser, network: Network, cookies: list) -> str:
    """Where the batch that the demo has planned is weighed."""
    context = browser.new_context(**PHONE)
    context.add_cookies(cookies)
    page = context.new_page()
    page.goto(f"{network.address}/pour/")
    found = page.locator('main a[href$="/weigh/"]').first.get_attribute("href")
    context.close()
    return str(found)


def twice(browser: Browser, network: Network, path: str, cookies: list) -> tuple[Visit, Visit]:
    context = browser.new_context(**PHONE)
    context.add_cookies(cookies)
    page = context.new_page()
    first = visit(page, network, path)
    again = visit(page, network, path)
    context.close()
    return first, again


def show(path: str, rounds: list[tuple[Visit, Visit]]) -> None:
    first = median(one.largest_paint for one, _ in rounds)
    again = median(other.largest_paint for _, other in rounds)
    shift = max(seen.shift for pair in rounds for seen in pair)
    received = max(one.received for one, _ in rounds)
    sys.stdout.write(f"{path:<14}{first:>7.2f}s{again:>7.2f}s{shift:>9.4f}{received / 1000:>7.0f}\n")


if __name__ == "__main__":
    main()
