"""Fifty times unplugged in the middle of a pass, and plugged in again."""

from __future__ import annotations

import dataclasses
import random
from pathlib import Path

import pytest

from .pulling import LANES, pull
from .table import show

PULLS = 50


@pytest.mark.campaign
def test_fifty_times_unplugged(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    random.seed(6)
    found = pull(tmp_path, PULLS)
    row = dataclasses.asdict(found)
    show(capfd, "cable pulled and plugged in again in one scan", [tuple(row), tuple(row.values())])
    assert (found.pulls, found.marks, found.good) == (PULLS, PULLS, 2 * LANES)
    assert found.bad >= PULLS
    assert found.lost_bytes == 0
    assert (found.threads, found.files) == (0, 0)
    assert found.most_files <= 1
