"""The page: four files of this package, and nothing else, whatever path is asked for."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from importlib.resources import files

from fastapi import FastAPI
from starlette.responses import Response

FILES = {
    "/": ("index.html", "text/html; charset=utf-8"),
    "/page/page.js": ("page.js", "text/javascript; charset=utf-8"),
    "/page/icon.svg": ("icon.svg", "image/svg+xml"),
    "/page/page.css": ("page.css", "text/css; charset=utf-8"),
}


def add_page(app: FastAPI) -> None:
    """Adds the page's routes."""
    for path, (name, kind) in FILES.items():
        app.get(path, summary=f"The page: {name}", response_class=Response)(_file(name, kind))


def _file(name: str, kind: str) -> Callable[[], Awaitable[Response]]:
    content = (files("daq.daemon") / "web" / name).read_bytes()

    async def answer() -> Response:
        return Response(content, media_type=kind)

    return answer
