"""One of the page's modules alone, to be asked what it answers."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import JSHandle, Page, Route

from daq.daemon.page import page_files

ORIGIN = "http://page.test"
PREFIX = "/page/"
EMPTY = "<!doctype html><html lang='en'><title>module</title><body></body></html>"


class Module:
    """A module loaded in a browser, in a page with nothing else in it."""

    def __init__(self, page: Page, handle: JSHandle) -> None:
        self.page = page
        self._handle = handle

    def call(self, name: str, *given: Any) -> Any:
        """What an exported function answers; given and answered as JSON, NaN too."""
        return self._handle.evaluate(
            "(module, [name, given]) => module[name](...given)", [name, list(given)]
        )

    def run(self, script: str, given: Any = None) -> Any:
        """What `(module, given) => ...` answers, a promise's value too."""
        return self._handle.evaluate(script, given)


def load(page: Page, path: str) -> Module:
    """A module by its path under daq/daemon/web, such as `js/trace.js`; its imports come along."""
    page.route(f"{ORIGIN}/**", _answer)
    page.goto(f"{ORIGIN}/")
    return Module(page, page.evaluate_handle("path => import(path)", PREFIX + path))


def _answer(route: Route) -> None:
    path = route.request.url.removeprefix(ORIGIN)
    if path in ("/", "/favicon.ico"):
        route.fulfill(content_type="text/html; charset=utf-8", body=EMPTY)
        return
    file = page_files().get(path.removeprefix(PREFIX))
    if file is None:
        route.fulfill(status=404, body=f"the page has no {path}")
        return
    route.fulfill(content_type=file.kind, body=file.content)
