"""The short form of the campaign of full disks: full at once, in a pass, and while sealing."""

from __future__ import annotations

from pathlib import Path

from daq.demo.bench import software_rig

from ..campaign.record.filling import SEALING, Limited, fill_one
from ..campaign.record.killing import Shop


def test_a_disk_that_fills_loses_nothing(tmp_path: Path) -> None:
    with software_rig(5, "--set", "rate_hz=200") as bench:
        shop = Shop(bench, tmp_path)
        begun, measured, sealed = (fill_one(shop, Limited(), at) for at in (0, 300_000, SEALING))
        assert "before anything was measured" in begun.line
        assert (begun.kept_records, begun.good_passes) == (0, 0)
        assert measured.kept_records > 20
        assert sealed.good_passes == 10
        assert sealed.line.count(".journal") == 1
