"""The short form of the campaign of pulled cables."""

from __future__ import annotations

import random
from pathlib import Path

from ..campaign.record.pulling import LANES, pull


def test_a_cable_pulled_five_times(tmp_path: Path) -> None:
    random.seed(1)
    found = pull(tmp_path, 5)
    assert (found.pulls, found.marks, found.good) == (5, 5, 2 * LANES)
    assert found.bad >= 5
    assert found.lost_bytes == 0
    assert (found.threads, found.files) == (0, 0)
