"""An hour of a fast sensor is sealed within a gibibyte."""

from __future__ import annotations

from pathlib import Path

import pytest

from .sealing import seal
from .table import show

MOST_MB = 1073.7


@pytest.mark.campaign
def test_an_hour_at_10_khz_is_sealed_within_a_gibibyte(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    minutes = (6, 60)
    found = [seal(tmp_path, one * 60 * 10_000, 10_000) for one in minutes]
    rows = [
        (minute, one.samples, one.journal_mb, one.built_mb, one.sealed_mb, one.took_s)
        for minute, one in zip(minutes, found, strict=True)
    ]
    head = ("minutes", "samples", "journal MB", "building MB", "sealing MB", "CPU s")
    show(capfd, "sealing a scan at 10 kHz, most memory of the process", [head, *rows])
    assert found[-1].samples == 36_000_000
    assert found[-1].sealed_mb < MOST_MB
    # what is built does not grow with the journal
    assert found[-1].built_mb - found[0].built_mb < 50
