"""A real browser: one a file, a fresh context a test, and nothing it does goes unseen.

The browser ends with its file: while it is there, its own event loop runs in the tests' thread.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from ..finished import finished_workshop
from .browsers import PATIENCE_MS, SCREENS, chromium
from .modules import ORIGIN, Module, load
from .watch import Watch

expect.set_options(timeout=PATIENCE_MS)
NewPage = Callable[..., Page]
READ = "() => document.body?.innerText"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium."""
    with chromium() as started:
        yield started


@pytest.fixture
def watch() -> Iterator[Watch]:
    """Fails the test at its end where a page did what it may not."""
    watch = Watch()
    yield watch
    watch.check()


@pytest.fixture
def new_page(browser: Browser, watch: Watch) -> Iterator[NewPage]:
    """new_page(url, screen="desk", colours="light"): a page in a context of its own.

    beside: another page, whose context it shares as a second tab. still: without motion. script:
    what runs in it before anything of its own.
    """
    contexts: list[BrowserContext] = []

    def make(
        url: str = "",
        screen: str = "desk",
        colours: str = "light",
        beside: Page | None = None,
        still: bool = False,
        script: str = "",
    ) -> Page:
        if beside is None:
            motion = "reduce" if still else "no-preference"
            context = browser.new_context(
                **SCREENS[screen], color_scheme=colours, reduced_motion=motion
            )
            context.set_default_timeout(PATIENCE_MS)
            contexts.append(context)
            watch.over(context)
        else:
            context = beside.context
        page = context.new_page()
        if script:
            page.add_init_script(script)
        if url:
            watch.hosts.add(urlsplit(url).netloc)
            page.goto(url)
        return page

    yield make
    for context in contexts:
        for page in context.pages:
            sys.stdout.write(f"--- {page.url}\n{page.evaluate(READ)}\n")  # shown where it failed
        context.close()


@pytest.fixture(scope="module")
def empty_page(browser: Browser) -> Iterator[Page]:
    """Where modules are loaded that are tested alone; each anew, in an empty document."""
    with browser.new_context() as context:
        context.set_default_timeout(PATIENCE_MS)
        yield context.new_page()


@pytest.fixture
def module_page(empty_page: Page, watch: Watch) -> Iterator[Callable[[str], Module]]:
    """module_page("js/trace.js"): one of the page's modules alone, see `Module`."""
    watch.hosts.add(urlsplit(ORIGIN).netloc)
    watch.over(empty_page.context)
    yield lambda path: load(empty_page, path)
    empty_page.unroute_all()
    empty_page.goto("about:blank")
    watch.leave(empty_page.context)


@pytest.fixture(scope="session")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's workshop. Nobody writes here."""
    return finished_workshop(tmp_path_factory)


@pytest.fixture(autouse=True)
def own_runtime_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rigs of tests do not meet the rigs of this machine."""
    folder = tmp_path / "runtime"
    folder.mkdir(mode=0o700)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(folder))
