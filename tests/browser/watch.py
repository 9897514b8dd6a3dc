"""What a page may not do unseen: errors in its console, breaches of its policy, strangers asked."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Request, WebError

INSIDE = ("about", "blob", "data")
UNFIT = r"status of 503 .*/v1/health\)$"
"""A rig that is not fit is told by that status, and the browser takes note of it."""


class Watch:
    """Listens to every page of its contexts; `check` fails the test with what it heard.

    A breach of the content security policy is an error in the console. hosts: those that pages
    may ask.
    """

    def __init__(self) -> None:
        self.hosts: set[str] = set()
        self.asked: list[str] = []
        self._faults: list[str] = []
        self._expected = [re.compile(UNFIT)]

    def over(self, context: BrowserContext) -> None:
        """Begins to listen to a context."""
        context.on("console", self._console)
        context.on("weberror", self._error)
        context.on("request", self._request)

    def leave(self, context: BrowserContext) -> None:
        """Listens no more."""
        context.remove_listener("console", self._console)
        context.remove_listener("weberror", self._error)
        context.remove_listener("request", self._request)

    def expect(self, pattern: str) -> None:
        """A fault that the test itself brings about: one that matches is none."""
        self._expected.append(re.compile(pattern))

    def check(self) -> None:
        """Raises AssertionError where a page did what it may not."""
        assert self.heard == [], "\n".join(["the page did what it may not:", *self.heard])

    @property
    def heard(self) -> list[str]:
        """The faults that no test expected."""
        return [fault for fault in self._faults if not self._is_expected(fault)]

    def forget(self) -> None:
        """What was heard so far is no fault."""
        self._faults.clear()

    def _is_expected(self, fault: str) -> bool:
        return any(pattern.search(fault) for pattern in self._expected)

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            where = message.location.get("url", "")
            self._faults.append(f"console {message.type}: {message.text} ({where})")

    def _error(self, error: WebError) -> None:
        self._faults.append(f"page error: {error.error}")

    def _request(self, request: Request) -> None:
        at = urlsplit(request.url)
        self.asked.append(f"{request.method} {at.path}")
        if at.scheme not in INSIDE and at.netloc not in self.hosts:
            self._faults.append(f"request to another host: {request.method} {request.url}")


def until(page: Page, so: Callable[[], object], within_s: float = 30.0) -> None:
    """Waits for what the page itself does not show; the browser's events come in meanwhile."""
    end_s = time.monotonic() + within_s
    while not so():
        assert time.monotonic() < end_s, "it did not come to that"
        page.wait_for_timeout(10)
