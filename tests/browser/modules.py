"""One of the page's modules alone, to be asked what it answers."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

from playwright.sync_api import JSHandle, Page, Route

ORIGIN = "http://page.test"
PREFIX = "/page/"
KINDS = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}


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
        body = "<!doctype html><html lang='en'><title>module</title><body></body></html>"
        route.fulfill(content_type="text/html; charset=utf-8", body=body)
        return
    name = path.removeprefix(PREFIX).partition("?")[0]
    file = files("daq.daemon") / "web" / name
    if not file.is_file():
        route.fulfill(status=404, body=f"there is no {name}")
        return
    kind = KINDS["." + name.rpartition(".")[2]]
    route.fulfill(content_type=f"{kind}; charset=utf-8", body=file.read_bytes())
