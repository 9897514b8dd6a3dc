"""How fast the page is. The figures are the campaign's: `pytest -n 0 -m campaign tests/browser`.

What stands in the everyday run takes the best of a few tries, so that it fails on a page that is
slow, not on a machine that is busy.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from ..campaign.record.table import show
from .conftest import NewPage
from .daemons import served
from .rigs import fast_sensor
from .speed import COUNT_FRAMES, first_paint_ms, frames_a_second, memory, middle_and_late

FIRST_PAINT_MS = 1000.0
FRAMES_A_SECOND = 20.0
RATE_HZ = 10_000


def opened_ms(new_page: NewPage, url: str, times: int) -> tuple[list[float], list[float]]:
    """First paint, and the rig's name there, in contexts that know nothing of the page."""
    paints, named = [], []
    for _ in range(times):
        page = new_page(url)
        page.wait_for_function("() => document.title.includes('–')")
        named.append(float(page.evaluate("() => performance.now()")))
        paints.append(first_paint_ms(page))
        page.close()
    return paints, named


def test_first_paint(new_page: NewPage, tmp_path: Path) -> None:
    with served(tmp_path, "--simulate") as daemon:
        paints, named = opened_ms(new_page, daemon.url, 3)
    assert min(paints) < FIRST_PAINT_MS
    assert min(named) < FIRST_PAINT_MS


@pytest.mark.campaign
def test_first_paint_often(
    new_page: NewPage, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    with served(tmp_path, "--simulate") as daemon:
        paints, named = opened_ms(new_page, daemon.url, 20)
    rows = [("what", "median ms", "95th ms")]
    rows += [("first paint", *middle_and_late(paints)), ("rig's name", *middle_and_late(named))]
    show(capfd, "A page opened on loopback, 20 times", rows)
    assert middle_and_late(paints)[1] < FIRST_PAINT_MS


@pytest.mark.parametrize(
    "seconds", [3.0, pytest.param(20.0, marks=pytest.mark.campaign)], ids=["short", "long"]
)
def test_live_trace_of_a_fast_sensor(
    new_page: NewPage, tmp_path: Path, capfd: pytest.CaptureFixture[str], seconds: float
) -> None:
    with (
        fast_sensor(tmp_path, RATE_HZ, seconds + 12.0) as rig,
        served(tmp_path / "shop", str(rig)) as daemon,
    ):
        page = new_page(daemon.url, script=COUNT_FRAMES)
        page.wait_for_function("() => window.drawn.trace?.size > 3")
        frames, longest_ms = frames_a_second(page, "trace", seconds)
        rate = float(page.locator("#rate").inner_text().replace(",", ""))
    assert rate == pytest.approx(RATE_HZ, rel=0.05)
    assert frames >= FRAMES_A_SECOND
    if seconds > 10:
        rows = [("frames a second", "longest gap ms"), (frames, longest_ms)]
        show(capfd, f"Live trace, a sensor at {RATE_HZ} Hz, over {seconds:.0f} s", rows)


@pytest.mark.campaign
def test_memory_over_ten_minutes(
    new_page: NewPage, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    rows: list[tuple[object, ...]] = [("minute", "heap MB", "nodes", "listeners")]
    with served(tmp_path, "--simulate") as daemon:
        page = new_page(daemon.url)
        page.wait_for_timeout(25_000)  # the trace is 20 s long: until then it grows
        for minute in range(11):
            held = memory(page)
            rows.append((minute, *held.values()))
            page.wait_for_timeout(60_000 if minute < 10 else 0)
    show(capfd, "What a page of a live rig holds", rows)
    first, last = rows[1], rows[-1]
    assert float(str(last[1])) < float(str(first[1])) + 1.0
    assert float(str(last[2])) < float(str(first[2])) + 200
