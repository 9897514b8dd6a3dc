"""A scan watched live on the page, and what goes wrong on the way, by its words."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from daq.cli.main import main

from .conftest import NewPage
from .daemons import Daemon, served
from .rigview import drawn_share, wait_for, words
from .watch import Watch, until

READING = r"-?\d+\.\d{3}"
GONE = "net::ERR_"


@pytest.fixture(scope="module")
def daemon(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Daemon]:
    """A simulated rig with a strung neck on it, twenty times as fast as steel; a job."""
    root = tmp_path_factory.mktemp("live")
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
        with served(root, "--simulate", "--pace", "20") as daemon:
            file = root / "simulated/instrument.yaml"
            new = ["job", "new", "parlour", "--instrument", str(file)]
            assert main(["--workshop", str(root), *new]) == 0
            yield daemon


@pytest.fixture
def scan(daemon: Daemon, new_page: NewPage) -> Iterator[Page]:
    """A page on which a scan has begun: the carriage may move, said with a click."""
    page = new_page(daemon.url)
    wait_for(page, "#state", "ready")
    work = daemon.ask("work", {"kind": "scan", "job": "parlour", "state": "strung"}).json()["id"]
    wait_for(page, "#question", "Go on?")
    page.locator("#question-done").click()
    page.locator("#question").wait_for(state="hidden")
    yield page
    daemon.ask(f"work/{work}/cancel", {})
    until(page, lambda: daemon.ask("state").json()["work"] is None)


def test_a_scan_is_watched(scan: Page) -> None:
    wait_for(scan, "#work-title", "pass 1 of 10")
    wait_for(scan, "#work-now", "samples")
    shares, places, readings = [], set(), set()
    while "pass 1 of" in words(scan, "#work-title"):
        shares.append(drawn_share(scan, "whole"))
        places.add(words(scan, "#position"))
        readings.add(words(scan, "#reading"))
    assert "pass 2 of 10" in words(scan, "#work-title")
    assert shares[0] < 0.5
    assert max(shares) > shares[0] + 0.3
    assert len(places) > 3
    assert len(readings) > 3
    bar = scan.get_by_role("progressbar")
    now = int(bar.get_attribute("aria-valuenow") or "")
    assert now >= 10
    until(scan, lambda: int(bar.get_attribute("aria-valuenow") or "") > now)
    assert drawn_share(scan, "trace") > 0.1


def test_the_cable_is_pulled(scan: Page, daemon: Daemon) -> None:
    wait_for(scan, "#work-now", "samples")
    daemon.ask("simulated", {"do": "cable", "plugged": False}).raise_for_status()
    wait_for(scan, "#question", "came loose, or the rig lost power")
    wait_for(scan, "#still", "Nothing has come since")
    assert words(scan, "#reading") == "–"
    daemon.ask("simulated", {"do": "cable", "plugged": True}).raise_for_status()
    scan.locator("#question-done").click()
    wait_for(scan, "#question", "it homes and repeats the pass")
    until(scan, lambda: scan.evaluate("() => document.activeElement.id") == "question")
    scan.keyboard.press("Tab")
    scan.keyboard.press("Enter")
    scan.locator("#question").wait_for(state="hidden")
    wait_for(scan, "#work-now", "attempt 2")
    until(scan, lambda: re.fullmatch(READING, words(scan, "#reading")))


def test_a_question_is_refused(daemon: Daemon, new_page: NewPage) -> None:
    page = new_page(daemon.url)
    wait_for(page, "#state", "ready")
    other = new_page(daemon.url)
    daemon.ask("work", {"kind": "scan", "job": "parlour", "state": "strung"})
    for each in (page, other):
        wait_for(each, "#question", "Go on?")
    page.locator("#question-stop").click()
    wait_for(other, "#told", "answered elsewhere")
    for each in (page, other):
        each.locator("#question").wait_for(state="hidden")
        wait_for(each, "#told", "not begun")
        assert "kept" not in words(each, "#told"), "nothing was recorded"
    assert daemon.ask("state").json()["work"] is None


def test_it_is_stopped_on_the_page(scan: Page) -> None:
    wait_for(scan, "#work-now", "samples")
    scan.get_by_role("button", name="Stop").click()
    wait_for(scan, "#told", "What was recorded is kept")
    scan.locator("#work").wait_for(state="hidden")


def test_the_daemon_dies_and_is_begun_again(
    daemon: Daemon, new_page: NewPage, watch: Watch
) -> None:
    watch.expect(GONE)
    page = new_page(daemon.url)
    until(page, lambda: words(page, "#rate") == "400")
    daemon.kill()
    wait_for(page, "#away", "see whether `neckform serve` still runs")
    until(page, lambda: words(page, "#rate") == "–")
    daemon.start()
    wait_for(page, "#told", "was started again")
    page.locator("#away").wait_for(state="hidden")
    until(page, lambda: words(page, "#rate") == "400")
    wait_for(page, "#state", "ready")
