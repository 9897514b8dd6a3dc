"""A million damaged frames a decoder: it never raises, and passes none beyond the check's odds."""

from __future__ import annotations

import time

import pytest

from .fuzzing import fuzz
from .spoken import SPOKEN
from .table import show

FRAMES = 1_480_000
"""Of which about seven in ten are damaged."""


@pytest.mark.campaign
@pytest.mark.parametrize("protocol", SPOKEN)
def test_a_million_damaged_frames(protocol: str, capfd: pytest.CaptureFixture[str]) -> None:
    began_s = time.process_time()
    found = fuzz(SPOKEN[protocol], FRAMES, seed=6)
    row = [
        protocol, found.damaged, found.decoded, found.bad, found.passed, found.most_passed,
        found.lost, time.process_time() - began_s,
    ]  # fmt: skip
    head = ("protocol", "damaged", "samples", "bad", "passed", "bound", "good ones lost", "CPU s")
    show(capfd, "damaged frames", [head, row])
    assert found.damaged >= 1_000_000
    assert found.passed <= found.most_passed
    assert found.lost <= found.passed
