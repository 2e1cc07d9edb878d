"""Chromium as these tests and pictures use it: found on this machine, started quietly, in two sizes."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from typing import Any, NoReturn

import pytest
from playwright.sync_api import Browser, Playwright

NAMES = ["chromium", "chromium-browser", "google-chrome"]
QUIET = [
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--no-first-run",
]

PHONE: dict[str, Any] = {
    "viewport": {"width": 360, "height": 740},
    "device_scale_factor": 2,
    "has_touch": True,
    "is_mobile": True,
}
DESKTOP: dict[str, Any] = {"viewport": {"width": 1280, "height": 800}}


def find() -> str | None:
    """The path of a Chromium, or None."""
    return next(filter(None, map(shutil.which, NAMES)), None)


def needed() -> str:
    """The path of a Chromium; without one the test fails in CI, and is skipped elsewhere."""
    return find() or cannot_run(
        f"No Chromium found ({', '.join(NAMES)}); install it, on Debian with: apt install chromium"
    )


def cannot_run(why: str) -> NoReturn:
    """Fails the test in CI, where nothing may be missing, and skips it elsewhere."""
    if os.environ.get("CI", "").lower() in {"1", "true"}:
        pytest.fail(why)
    pytest.skip(why)


def start(
    playwright: Playwright,
    path: str,
    *,
    options: Sequence[str] = (),
    environment: dict[str, str] | None = None,
) -> Browser:
    """`options` and `environment` come on top of what all have."""
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return playwright.chromium.launch(
        executable_path=path,
        args=[*QUIET, *options, *(["--no-sandbox"] if as_root else [])],
        env={**os.environ, **(environment or {})},
    )
