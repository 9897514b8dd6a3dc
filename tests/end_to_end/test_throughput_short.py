"""The short form of the campaign of throughput."""

from __future__ import annotations

from pathlib import Path

import pytest

from ..campaign.record.feeding import feed


@pytest.mark.parametrize(("protocol", "rate_hz"), [("line", 10_000), ("binary", 100_000)])
def test_a_fast_stream_is_recorded_whole(tmp_path: Path, protocol: str, rate_hz: int) -> None:
    fed = feed(protocol, rate_hz, 3.0, tmp_path / "a.journal")
    assert (fed.samples, fed.lost, fed.bad_frames, fed.in_order) == (3 * rate_hz, 0, 0, True)
    # of one core, by whatever else this machine has to do: the campaign has the figure itself
    assert fed.core_share < 0.7
