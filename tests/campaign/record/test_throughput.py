"""Ten thousand text samples a second and a hundred thousand binary ones, recorded whole."""

from __future__ import annotations

import os
import platform
from pathlib import Path

import pytest

from .feeding import Fed, feed
from .table import show

SECONDS = 60.0
MOST_OF_A_CORE = 0.35
STREAMS = (("line", 1_000), ("line", 10_000), ("binary", 10_000), ("binary", 100_000))
HEAD = (
    "protocol", "samples/s", "lost", "share of a core", "turns/s", "most waiting bytes",
    "late ms p50", "p99", "worst", "memory MB first", "last", "slower by s",
)  # fmt: skip


@pytest.mark.campaign
def test_a_minute_recorded_whole(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    found = [
        (protocol, rate_hz, feed(protocol, rate_hz, SECONDS, tmp_path / f"{protocol}{rate_hz}.j"))
        for protocol, rate_hz in STREAMS
    ]
    machine = f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    rows = [_row(*one) for one in found]
    show(capfd, f"{SECONDS:g} s of each over a pseudo-terminal; {machine}", [HEAD, *rows])
    for protocol, rate_hz, fed in found:
        assert (fed.lost, fed.bad_frames, fed.in_order) == (0, 0, True), (protocol, rate_hz)
        assert fed.took_s < SECONDS + 1.0
        if rate_hz <= 10_000:
            assert fed.core_share < MOST_OF_A_CORE


def _row(protocol: str, rate_hz: int, fed: Fed) -> tuple[object, ...]:
    memory = fed.memory_mb
    return (
        protocol, rate_hz, fed.lost, fed.core_share, fed.turns_a_second, fed.deepest_bytes,
        *fed.late_ms, memory[0], memory[-1], fed.took_s - SECONDS,
    )  # fmt: skip
