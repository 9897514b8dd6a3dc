"""The pace of a hand-pushed pass."""

from __future__ import annotations

import pytest

from daq.acquire.hand import Pace
from daq.acquire.progress import NoProgress


class Hearer(NoProgress):
    def __init__(self) -> None:
        self.words: list[str] = []

    def pace(self, words: str) -> None:
        self.words.append(words)


@pytest.mark.parametrize(
    ("speed_mm_s", "words"),
    [(5.0, "push on"), (30.0, "good"), (70.0, "a little slower"), (90.0, "too fast: slower")],
)
def test_pace_at_400_hz(speed_mm_s: float, words: str) -> None:
    hearer = Hearer()
    pace = Pace(400.0, hearer)
    for n in range(100):
        pace.at(n / 20, n / 20 * speed_mm_s)
    (said,) = hearer.words
    assert said.startswith(words)
    assert pace.lasts_s == pytest.approx(4.95)
