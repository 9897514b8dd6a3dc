"""The short form of the campaign of power cuts."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from ...campaign.record.power import cut_one, journal_records


def test_every_record_before_the_damage_is_kept(tmp_path: Path) -> None:
    random, records = np.random.default_rng(3), list(journal_records())
    cuts = [cut_one(tmp_path, records, random) for _ in range(15)]
    assert {cut.kind for cut in cuts} == {"cut", "zeros", "rubbish"}
    assert [cut.kept for cut in cuts] == [cut.whole for cut in cuts]
