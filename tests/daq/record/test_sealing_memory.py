"""Building a scan file takes no more memory for a long scan than for a short one."""

from __future__ import annotations

from pathlib import Path

from ...campaign.record.sealing import seal

SHORT, LONG = 400_000, 1_200_000
READ_BACK = 24
"""Bytes a sample: its six columns."""


def test_only_what_is_read_back_grows(tmp_path: Path) -> None:
    short, long = (seal(tmp_path, samples, 10_000) for samples in (SHORT, LONG))
    assert (short.samples, long.samples) == (SHORT, LONG)
    assert long.built_mb - short.built_mb < 25
    assert long.sealed_mb - long.begun_mb < 60 + READ_BACK * LONG / 1e6
