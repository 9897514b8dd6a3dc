"""The pace of a hand-pushed pass, by scripted places and times."""

from __future__ import annotations

import pytest

from daq.acquire.passes.lanes import both_ways, straight_lane
from daq.acquire.passes.pace import Pace
from daq.acquire.passes.progress import NoProgress
from daq.files.rig import RigFile


class Hearer(NoProgress):
    def __init__(self) -> None:
        self.words: list[str] = []
        self.notices: list[str] = []

    def pace(self, words: str) -> None:
        self.words.append(words)

    def notice(self, text: str) -> None:
        self.notices.append(text)


class Push:
    """A hand, from the first pad's edge at 16 mm (or the last's, at 80), told of 16 times a
    second. At 400 Hz 80 mm/s is the fastest."""

    def __init__(self, rig_file: RigFile, hearer: Hearer, direction: int = 1) -> None:
        self.hearer = hearer
        plan = both_ways([straight_lane(rig_file)], 25.0)[direction < 0]
        self.pace = Pace(plan, rig_file, hearer)
        self.time_s, self.x_mm = 5.0, 16.0 if direction > 0 else 80.0
        self.pace.at(self.time_s, self.x_mm)

    def __call__(self, mm_s: float, seconds: float) -> list[str]:
        """What is said while it moves so; the first quarter of a second may be of before."""
        before = len(self.hearer.words)
        for _ in range(round(16 * seconds)):
            self.time_s += 1 / 16
            self.x_mm += mm_s / 16
            self.pace.at(self.time_s, self.x_mm)
        return self.hearer.words[before:]


@pytest.fixture
def hearer() -> Hearer:
    return Hearer()


@pytest.fixture
def push(hand_rig_file: RigFile, hearer: Hearer) -> Push:
    return Push(hand_rig_file, hearer)


@pytest.mark.parametrize(
    ("mm_s", "words"),
    [
        (0.2, "stands at 16 mm: push on"),
        (5.0, "too slow: push on"),
        (30.0, "good"),
        (70.0, "a little slower"),
        (90.0, "too fast since 16 mm: slower"),
        (-20.0, "going back: the other way"),
    ],
)
def test_one_pace_is_told_once(push: Push, mm_s: float, words: str) -> None:
    assert push(mm_s, 0.5) == [words]
    assert push.pace.lasts_s == pytest.approx(0.5)


def test_words_change_with_the_push(push: Push) -> None:
    said = push(30.0, 0.5) + push(0.0, 0.5) + push(30.0, 0.5)
    assert said == ["good", "stands at 31 mm: push on", "good"]


def test_back_towards_the_nut(hand_rig_file: RigFile, hearer: Hearer) -> None:
    push = Push(hand_rig_file, hearer, direction=-1)
    assert push(-30.0, 0.5) + push(20.0, 0.25) == ["good", "going back: the other way"]


def test_a_stretch_pushed_too_fast_is_named(push: Push) -> None:
    push(30.0, 0.5)
    assert push(100.0, 0.25) == ["too fast since 31 mm: slower"]
    assert push.hearer.notices == []
    assert push(30.0, 0.25) == ["good"]
    (notice,) = push.hearer.notices
    assert notice == (
        "too fast from 31 to 56 mm: slower on the rest, or the pass is to be repeated"
    )


def test_too_fast_over_a_pad_is_no_matter(push: Push) -> None:
    push(100.0, 1.0)  # from 66 mm it is well onto the last pad
    push(30.0, 0.5)
    assert [notice[:22] for notice in push.hearer.notices] == ["too fast from 16 to 66"]
