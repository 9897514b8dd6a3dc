"""The short form of the campaign of kills: one scan killed between its first pass and its last."""

from __future__ import annotations

from pathlib import Path

from daq.demo.bench import software_rig

from ..campaign.record.killing import STATED_S, Shop, kill_one


def test_a_killed_scan_is_kept_whole_and_the_next_one_works(tmp_path: Path) -> None:
    with software_rig(5, "--set", "rate_hz=200") as bench:
        shop = Shop(bench, tmp_path)
        killed = kill_one(shop, until_pass=2)
        assert killed.left == "journal with passes"
        assert killed.passes >= 2
        assert killed.late_s <= STATED_S
        whole = kill_one(shop)
    assert (whole.left, whole.passes) == ("scan file", 10)
