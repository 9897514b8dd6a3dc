"""The short form of the campaign of kills: one scan killed in its second pass."""

from __future__ import annotations

from pathlib import Path

from daq.demo.bench import software_rig

from ..campaign.record.killing import STATED_S, Shop, kill_one

INTO_PASS_S = 0.8


def test_a_killed_scan_is_kept_whole(tmp_path: Path) -> None:
    with software_rig(5, "--set", "rate_hz=200", "--pace", "16") as bench:
        killed = kill_one(Shop(bench, tmp_path), INTO_PASS_S, "pass")
    assert killed.left == "journal with passes"
    assert killed.passes == 2
    assert killed.late_s <= STATED_S
