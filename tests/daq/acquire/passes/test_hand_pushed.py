"""A scan pushed by hand, over a pseudo-terminal: a person at the simulated rig who errs first."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from daq.acquire.passes.gate import Verdict
from daq.acquire.passes.lanes import both_ways, straight_lane
from daq.acquire.passes.progress import NoProgress
from daq.acquire.use import OwnRig
from daq.demo.bench import Bench, software_rig
from daq.errors import RigError
from daq.files.rig import RigFile, load_rig
from daq.record.notes import ScanBegin
from daq.record.scan import Scan, read_scan

Journeys = list[list[tuple[float, float]]]
"""For each attempt: where to, and in how many seconds."""


@pytest.fixture(scope="module")
def bench() -> Iterator[Bench]:
    with software_rig(1, "--drive", "hand", "--set", "bad_frame_one_in=0") as rig:
        rig.do("place", what="straightedge")
        yield rig


class Person(NoProgress):
    """Pushes as scripted while samples come, and onto a pad where asked for."""

    def __init__(self, bench: Bench, journeys: Journeys) -> None:
        self._bench = bench
        self._journeys = iter(journeys)
        self._now: list[tuple[float, float]] = []
        self._to_mm: float | None = None
        self.asked: list[str] = []
        self.said: list[str] = []
        self.verdicts: list[Verdict] = []

    def __call__(self, question: str) -> None:
        self.asked.append(question)
        if question.startswith("Push the carriage onto"):
            self._push(10.0 if "first" in question else 607.0, 1.0)

    def pass_started(self, lane: int, string: float | None, direction: int, attempt: int) -> None:
        self._now, self._to_mm = list(next(self._journeys)), None

    def samples(self, count: int, bad: int, lost: int, x_mm: float, rate_hz: float) -> None:
        there = self._to_mm is None or abs(x_mm - self._to_mm) < 0.1
        if there and self._now and count > 200:
            self._to_mm, seconds = self._now.pop(0)
            self._push(self._to_mm, seconds)

    def pass_ended(self, verdict: Verdict) -> None:
        self.verdicts.append(verdict)

    def pace(self, words: str) -> None:
        self.said.append(words)

    def notice(self, text: str) -> None:
        self.said.append(text)

    def _push(self, to_mm: float, seconds: float) -> None:
        """Once the hand has come to rest: a pass may be given up while it still moves."""
        while True:
            try:
                self._bench.do("push", to_mm=to_mm, seconds=seconds)
                return
            except RigError as refused:
                if "still moving" not in str(refused):
                    raise
                time.sleep(0.02)


@pytest.fixture
def rig_file(bench: Bench, tmp_path: Path) -> RigFile:
    return load_rig(Path(bench.do("files", folder=str(tmp_path))["rig"]))


def scan(rig_file: RigFile, person: Person, folder: Path) -> Scan:
    passes = both_ways([straight_lane(rig_file)], 25.0)
    begin = ScanBegin("s1", "rail", None, "", "", "", "neckform 0", rig_file.text, None, {})
    return read_scan(OwnRig(rig_file).record(begin, passes, folder / "a.h5", person, person))


def test_who_pushes_well_is_asked_once_a_pass(
    bench: Bench, rig_file: RigFile, tmp_path: Path
) -> None:
    person = Person(bench, [[(610.0, 24.0)], [(8.0, 24.0)]])
    done = scan(rig_file, person, tmp_path)
    assert [verdict.why for verdict in person.verdicts] == [(), ()]
    assert done.end == "done"
    assert len([question for question in person.asked if question.startswith("Ready?")]) == 2
    assert "good" in person.said
    x_mm = rig_file.x_mm(done.passes[0].samples.x)
    assert np.diff(x_mm).max() < 0.6


def test_who_errs_is_told_at_once_and_repeats(
    bench: Bench, rig_file: RigFile, tmp_path: Path
) -> None:
    """Gone back; too fast altogether; so fast that a stretch is missed; stopped half-way."""
    person = Person(
        bench,
        [
            [(300.0, 12.0), (280.0, 2.0)],
            [(610.0, 6.0)],
            [(200.0, 0.4)],
            [(300.0, 12.0), (300.0, 3.0), (610.0, 12.0)],
            [(8.0, 24.0)],
        ],
    )
    done = scan(rig_file, person, tmp_path)
    back, fast, missed, stopped, last = person.verdicts
    assert [one.good for one in person.verdicts] == [False, False, False, True, True]
    (why,) = back.why
    assert why.startswith("the carriage went back by ")
    assert why.endswith("it must go from pad to pad in one go")
    assert any("too fast: a sample every" in why for why in fast.why)
    (why,) = missed.why
    assert why.startswith("nothing was measured over ")
    told = " | ".join(person.said)
    assert "too fast since" in told
    assert "too fast from" in told
    assert "stands at 300 mm: push on" in told
    onto = [question for question in person.asked if question.startswith("Push the carriage onto")]
    assert len(onto) >= 3
    assert all("the first pad (4 to 16 mm; it is at" in question for question in onto)
    assert [one.good for one in done.passes] == [False, False, False, True, True]
    assert (stopped.why, last.why) == ((), ())
