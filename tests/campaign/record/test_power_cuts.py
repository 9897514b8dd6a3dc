"""Two hundred journals with their end spoilt: every record before is in the scan file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from .power import cut_one, journal_records
from .table import show

CUTS = 200


@pytest.mark.campaign
def test_two_hundred_power_cuts(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    random, records = np.random.default_rng(6), list(journal_records())
    cuts = [cut_one(tmp_path, records, random) for _ in range(CUTS)]
    rows = []
    for kind in ("cut", "zeros", "rubbish"):
        mine = [cut for cut in cuts if cut.kind == kind]
        lost = max(cut.whole - cut.kept for cut in mine)
        rows.append((kind, len(mine), sum(cut.kept > 0 for cut in mine), lost))
    head = ("the end", "journals", "scan files", "most whole records lost")
    show(capfd, f"{CUTS} power cuts", [head, *rows])
    assert [cut.kept for cut in cuts] == [cut.whole for cut in cuts]
