"""The page: the files of this package's web folder, and nothing else, whatever path is asked."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import PurePosixPath
from posixpath import normpath
from typing import Annotated

from fastapi import FastAPI, Header, HTTPException
from starlette.responses import Response

from daq.figures.style import COLOURS, STROKES

KINDS: Mapping[str, str] = {
    "html": "text/html; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "svg": "image/svg+xml",
}
FIRST_MODULE = "js/main.js"
IMPORT = re.compile(rb'^(?:import|\}) .*?from "(\.[^"]+)";$', re.MULTILINE)
HEAD_ENDS = b"</head>"


@dataclass(frozen=True, slots=True)
class PageFile:
    """One file as it is sent. etag: changes with what is in it."""

    content: bytes
    kind: str

    @property
    def etag(self) -> str:
        """Quoted, as a header has it."""
        return f'"{hashlib.sha256(self.content).hexdigest()[:32]}"'

    def answer(self, known: str | None) -> Response:
        """The file, or 304 where it is among the tags that the browser knows.

        A browser keeps it and asks every time whether it is still this one: after an upgrade no
        page is half old, and nothing is sent twice.
        """
        headers = {"cache-control": "no-cache", "etag": self.etag}
        tags = [tag.strip().removeprefix("W/") for tag in (known or "").split(",")]
        if self.etag in tags:
            return Response(status_code=304, headers=headers)
        return Response(self.content, media_type=self.kind, headers=headers)


def page_files() -> dict[str, PageFile]:
    """Every file of the page by its name in the web folder, and `figures.css`: the colours and
    strokes that the report's pictures have too."""
    found = {
        name: PageFile(content, KINDS[name.rpartition(".")[2]])
        for name, content in _under(files("daq.daemon") / "web", "")
    }
    found["index.html"] = _with_modules(found)
    return {**found, "figures.css": PageFile((COLOURS + STROKES).encode(), KINDS["css"])}


def _with_modules(found: Mapping[str, PageFile]) -> PageFile:
    """The page naming every module it begins with: the browser asks for all of them at once, not
    for each once it has read who imports it."""
    links = [f'<link rel="modulepreload" href="/page/{name}">\n' for name in _imported(found)]
    index = found["index.html"]
    after = "".join(links).encode() + HEAD_ENDS
    return replace(index, content=index.content.replace(HEAD_ENDS, after, 1))


def _imported(found: Mapping[str, PageFile]) -> list[str]:
    """What the first module imports before it runs, in the order of its reading."""
    names = [FIRST_MODULE]
    for name in names:  # grows while it is read
        folder = PurePosixPath(name).parent
        for path in IMPORT.findall(found[name].content):
            one = normpath(str(folder / path.decode()))
            if one not in names:
                names.append(one)
    return names[1:]


def add_page(app: FastAPI) -> None:
    """Adds the page's routes."""
    found = page_files()

    @app.get("/", summary="The page", response_class=Response)
    async def page(if_none_match: Annotated[str | None, Header()] = None) -> Response:
        return found["index.html"].answer(if_none_match)

    @app.get("/page/{name:path}", summary="What the page is made of", response_class=Response)
    async def part(name: str, if_none_match: Annotated[str | None, Header()] = None) -> Response:
        if name not in found:
            raise HTTPException(404, "the page has no such file")
        return found[name].answer(if_none_match)


def _under(folder: Traversable, before: str) -> Iterator[tuple[str, bytes]]:
    """Names below a folder, with / between them, and what is in them."""
    for one in sorted(folder.iterdir(), key=lambda one: one.name):
        name = before + one.name
        if one.is_dir():
            yield from _under(one, f"{name}/")
        elif one.name.rpartition(".")[2] in KINDS:
            yield name, one.read_bytes()
