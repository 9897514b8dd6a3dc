"""Two hundred scans killed at random moments: nothing stated as kept is lost."""

from __future__ import annotations

import random
import time
from collections import defaultdict
from pathlib import Path

import pytest

from daq.demo.bench import software_rig

from .killing import STATED_S, Killed, Shop, kill_one
from .table import show

KILLS = 200
RATE_HZ = 200
PACE = 20.0
SEALING_S = 0.4
"""So long it takes to build the scan file, read it back and delete the journal, and more."""


@pytest.mark.campaign
def test_two_hundred_kills(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    random.seed(6)
    with software_rig(5, "--set", f"rate_hz={RATE_HZ}") as bench:
        shop = Shop(bench, tmp_path)
        began_s = time.monotonic()
        whole = kill_one(shop)
        takes_s = time.monotonic() - began_s
        assert whole.left == "scan file"
        killed = [kill_one(shop, random.uniform(0.0, takes_s)) for _ in range(KILLS // 5)]
        killed += [
            kill_one(shop, 0.0, "journal", random.randrange(whole.kept_bytes))
            for _ in range(3 * KILLS // 5)
        ]
        killed += [
            kill_one(shop, random.uniform(0.0, SEALING_S), "sealing") for _ in range(KILLS // 5)
        ]
        last = kill_one(shop)
    assert (last.left, last.passes) == ("scan file", whole.passes)
    show(capfd, f"{KILLS} scans killed, {takes_s:.1f} s each if left alone", _table(killed))
    assert max(one.late_s for one in killed) <= STATED_S
    assert sum(one.passes > 0 for one in killed) > KILLS / 4


@pytest.mark.campaign
def test_twenty_kills_of_slower_passes(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """A pass lasts longer than the bound, so that what is held back in it would be seen."""
    random.seed(7)
    with software_rig(5, "--set", f"rate_hz={RATE_HZ}", "--pace", str(PACE)) as bench:
        shop = Shop(bench, tmp_path)
        killed = [kill_one(shop, random.uniform(0.0, 3.0), "pass") for _ in range(20)]
    show(capfd, f"20 scans killed, each pass of {24 / PACE:.1f} s", _table(killed))
    assert max(one.late_s for one in killed) <= STATED_S


def _table(killed: list[Killed]) -> list[tuple[object, ...]]:
    by_state: dict[str, list[Killed]] = defaultdict(list)
    for one in killed:
        by_state[one.left].append(one)
    head = ("left behind", "kills", "passes", "bytes kept", "oldest byte lost ms", "bytes unread")
    return [
        head,
        *(
            (
                left,
                len(found),
                max(one.passes for one in found),
                max(one.kept_bytes for one in found),
                1e3 * max(one.late_s for one in found),
                max(one.unread for one in found),
            )
            for left, found in sorted(by_state.items())
        ),
    ]
