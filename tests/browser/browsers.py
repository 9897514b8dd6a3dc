"""Debian's Chromium, never another, and the screens that a page is looked at on."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright

NAMES = ("chromium", "chromium-browser")
MISSING = (
    "these tests need Chromium, found none; install it (Debian: apt-get install chromium), or "
    "leave them out: pytest --ignore tests/browser"
)
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-quic",
)
SCREENS: dict[str, dict[str, Any]] = {
    "desk": {"viewport": {"width": 1280, "height": 800}},
    "touch": {"viewport": {"width": 1024, "height": 768}, "has_touch": True},
    "hand": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
}
COLOURS = ("light", "dark")
PATIENCE_MS = 30_000
"""Of a busy machine: where all is well nobody waits for it."""


@contextmanager
def chromium() -> Iterator[Browser]:
    """A browser without a window. The test fails where there is none to start."""
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        pytest.fail(MISSING, pytrace=False)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        try:
            yield browser
        finally:
            browser.close()
