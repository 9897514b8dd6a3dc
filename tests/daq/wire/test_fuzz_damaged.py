"""The short form of the campaign of damaged frames."""

from __future__ import annotations

import pytest

from ...campaign.record.fuzzing import fuzz
from ...campaign.record.spoken import SPOKEN


@pytest.mark.parametrize("protocol", SPOKEN)
def test_damaged_frames_are_counted_and_dropped(protocol: str) -> None:
    found = fuzz(SPOKEN[protocol], 20_000, seed=1)
    assert found.damaged > 10_000
    assert found.decoded > 5_000
    assert found.bad > 5_000
    assert found.passed <= found.most_passed
    assert found.lost <= found.passed
