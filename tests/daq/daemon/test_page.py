"""The page as it is served: its own files, each sent once, and nothing else."""

from __future__ import annotations

import re
import socket
from importlib.resources import files
from pathlib import Path

import httpx
import pytest

from daq.daemon.http import listening_on
from daq.daemon.page import page_files
from daq.figures.style import COLOURS

PRELOAD = r'<link rel="modulepreload" href="/page/([^"]+)">'
WEB = Path(str(files("daq.daemon") / "web"))
KINDS = {
    "/": "text/html; charset=utf-8",
    "/page/js/main.js": "text/javascript; charset=utf-8",
    "/page/page.css": "text/css; charset=utf-8",
    "/page/figures.css": "text/css; charset=utf-8",
    "/page/icon.svg": "image/svg+xml",
}


@pytest.mark.parametrize(("path", "kind"), KINDS.items())
def test_each_kind_of_file_is_sent_as_what_it_is(
    client: httpx.Client, path: str, kind: str
) -> None:
    answer = client.get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (200, kind)
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_every_file_of_the_folder_is_sent_word_for_word(client: httpx.Client) -> None:
    names = [str(path.relative_to(WEB)) for path in WEB.rglob("*") if path.is_file()]
    assert {"index.html", "js/ask.js", "js/job/main.js"} <= set(names)
    for name in names:
        sent = re.sub(PRELOAD.encode() + b"\n", b"", client.get(f"/page/{name}").content)
        assert sent == (WEB / name).read_bytes()


def test_the_page_has_the_colours_of_the_pictures(client: httpx.Client) -> None:
    assert COLOURS in client.get("/page/figures.css").text


def test_a_file_that_the_browser_has_is_not_sent_again(client: httpx.Client) -> None:
    for path in KINDS:
        first = client.get(path)
        assert first.headers["cache-control"] == "no-cache"
        tag = first.headers["etag"]
        again = client.get(path, headers={"If-None-Match": f'"other", W/{tag}'})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
        old = client.get(path, headers={"If-None-Match": '"other"'})
        assert (old.status_code, old.content) == (200, first.content)


def test_the_tag_changes_with_what_is_in_the_file() -> None:
    tags = [file.etag for file in page_files().values()]
    assert len(set(tags)) == len({file.content for file in page_files().values()})


@pytest.mark.parametrize(
    "path",
    [
        "/page/",
        "/page/page.py",
        "/page/js",
        "/page/js/",
        "/page/js/none.js",
        "/page//js/main.js",
        "/page/js%2f..%2f..%2fpage.py",
        "/page/%2e%2e/page.py",
        "/page//etc/passwd",
        "/page/main.js",
    ],
)
def test_nothing_outside_the_folder_is_sent(client: httpx.Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code in (400, 404)
    assert set(answer.json()) == {"kind", "message"}


def test_nothing_comes_from_elsewhere_and_nothing_is_inline() -> None:
    for name, file in page_files().items():
        text = file.content.decode()
        assert not re.search(r"https?://(?!www\.w3\.org/)", text), name
        assert not re.search(r"\bimport\(?\s*\"(?!\./|\.\./)", text), name
        if name.endswith((".html", ".js")):
            assert " style=" not in text, name
            assert not re.search(r"<script(?![^>]* src=)|\son\w+=\"", text), name


def test_every_file_that_the_page_names_is_there() -> None:
    found = page_files()
    page = found["index.html"].content.decode()
    assert set(re.findall(r"(?:href|src)=\"/page/([^\"]+)\"", page)) <= set(found)
    for name in [name for name in found if name.endswith(".js")]:
        folder = Path("/", name).parent
        for there in re.findall(r"from \"(\.[^\"]+)\"", found[name].content.decode()):
            assert str((folder / there).resolve())[1:] in found, f"{name} imports {there}"


def test_the_head_and_the_body_of_an_answer_do_not_wait_for_each_other() -> None:
    with listening_on("127.0.0.1", 0) as door, socket.create_connection(door.getsockname()):
        accepted, _ = door.accept()
        with accepted:  # or else the body may wait 40 ms until the head is acknowledged
            assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)


def test_the_page_names_the_modules_it_begins_with() -> None:
    named = re.findall(PRELOAD, page_files()["index.html"].content.decode())
    assert {"js/dom.js", "js/rig/strokes.js", "js/rig/columns.js"} <= set(named)
    assert len(named) == len(set(named))
    assert set(named) <= set(page_files())
    later = {"js/rig/ready.js", "js/job/main.js"}  # once the rig is shown
    assert not later & set(named)
