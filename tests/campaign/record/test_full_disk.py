"""A disk that becomes full at twenty moments of a scan: told, nothing lost, nothing touched."""

from __future__ import annotations

from pathlib import Path

import pytest

from daq.demo.bench import software_rig

from .filling import SEALING, Filled, Full, Left, Limited, fill_one, small_disk
from .killing import Shop, kill_one
from .table import show

MOMENTS = (0, 1_000, 20_000, 150_000, 400_000, 800_000, 1_200_000, 1_600_000, 1_900_000, SEALING)


@pytest.mark.campaign
def test_a_disk_full_at_twenty_moments(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    plain, small = tmp_path / "plain", tmp_path / "small"
    plain.mkdir()
    small.mkdir()
    with software_rig(5, "--set", "rate_hz=200") as bench, small_disk(small) as made:
        found = _fill(Shop(bench, plain), Limited())
        found += _fill(Shop(bench, small), Filled(small)) if made else []
    head = ("disk", "journal bytes", "records kept", "good passes", "said")
    rows = [(disk, one.at, one.kept_records, one.good_passes, _said(one)) for disk, one in found]
    show(capfd, "full disks (-1: while the scan file is written)", [head, *rows])
    assert len(found) == 20, "this user may make no small disk"


def _fill(shop: Shop, full: Full) -> list[tuple[str, Left]]:
    found = [(type(full).__name__, fill_one(shop, full, at)) for at in MOMENTS]
    assert kill_one(shop).left == "scan file"
    return found


def _said(one: Left) -> str:
    """Without the names of folders."""
    return " ".join(word for word in one.line.split() if "/" not in word)[:120]
