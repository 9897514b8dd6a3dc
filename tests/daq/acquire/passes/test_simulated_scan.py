"""The whole way over a pseudo-terminal: the simulated rig, the serial port, a scan file."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from daq.acquire.health.check import STILL_S
from daq.acquire.passes.gate import Verdict
from daq.acquire.passes.lanes import both_ways, lanes_for, straight_lane
from daq.acquire.passes.progress import NoProgress
from daq.acquire.use import OwnRig
from daq.errors import InputError, RigError
from daq.files.instrument import load_instrument
from daq.files.rig import load_rig
from daq.record.notes import ScanBegin
from daq.record.recover import recover
from daq.record.scan import read_scan
from daq.wire.records import ABSENT

Order = Callable[..., dict[str, Any]]


@pytest.fixture
def words() -> list[str]:
    """What the simulated bench is started with besides its seed."""
    return []


@pytest.fixture
def order(words: list[str]) -> Iterator[Order]:
    """Tells the simulated bench what to do; its first answer is its port."""
    command = [sys.executable, "-m", "sim", "--seed", "1", *words]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as bench:
        assert bench.stdin is not None
        assert bench.stdout is not None
        commands, answers = bench.stdin, bench.stdout
        assert "port" in json.loads(answers.readline())

        def order(do: str, **what: Any) -> dict[str, Any]:
            commands.write(json.dumps({"do": do, **what}) + "\n")
            commands.flush()
            answer = json.loads(answers.readline())
            assert answer["ok"], answer
            return dict(answer)

        yield order
        order("quit")


def no_questions(question: str) -> None:
    raise InputError(f"{question}: nobody is there to do it")


def record_two_lanes(order: Order, folder: Path, progress: NoProgress) -> Path:
    order("place", what="neck")
    order("state", state="strung")
    files = order("files", folder=str(folder))
    rig = load_rig(Path(files["rig"]))
    instrument = load_instrument(Path(files["instrument"]))
    lanes = lanes_for(instrument.record, rig, "strung")[:2]
    passes = both_ways(lanes, rig.carriage.speed_mm_s)
    begin = ScanBegin(
        id="s1",
        purpose="scan",
        state="strung",
        label="",
        job="",
        started="2025-01-02T03:04:05+01:00",
        program="neckform 0",
        rig_text=rig.text,
        instrument_text=instrument.text,
        calibration_texts={},
    )
    return OwnRig(rig).record(begin, passes, folder / "scan.h5", progress, no_questions)


def test_two_lanes_both_ways(order: Order, tmp_path: Path) -> None:
    out = record_two_lanes(order, tmp_path, NoProgress())
    scan = read_scan(out)
    assert scan.end == "done"
    good = [one for one in scan.passes if one.good]
    assert [(one.lane, one.string, one.direction) for one in good] == [
        (1, 1.5, 1),
        (1, 1.5, -1),
        (2, 2.5, 1),
        (2, 2.5, -1),
    ]
    for one in good:
        x_mm = one.samples.x * 0.005
        assert x_mm.min() < 5.1
        assert x_mm.max() > 612.9
        assert np.all(np.abs(np.diff(x_mm)) < 0.6)
    assert not (tmp_path / "scan.journal").exists()


def test_a_still_look(order: Order, tmp_path: Path) -> None:
    rig = load_rig(Path(order("files", folder=str(tmp_path))["rig"]))
    health = OwnRig(rig).check(STILL_S)
    assert health.rate_hz == pytest.approx(400.0, rel=0.001)
    assert health.samples >= 790


def test_the_cable_pulled_between_two_passes(order: Order, tmp_path: Path) -> None:
    class Puller(NoProgress):
        def pass_ended(self, verdict: Verdict) -> None:
            if verdict.good:
                order("pull")

    with pytest.raises(RigError, match=r"came loose.*neckform recover"):
        record_two_lanes(order, tmp_path, Puller())
    recover(tmp_path)
    scan = read_scan(tmp_path / "scan.h5")
    assert [one.good for one in scan.passes] == [True]
    assert scan.end == "failed"
    order("plug")


TWO = ["--links", "2", "--pace", "25", "--set", "arrival_jitter_ms=5,clock_ppm=40"]


@pytest.mark.parametrize("words", [TWO])
def test_two_links_each_with_a_clock_of_its_own(order: Order, tmp_path: Path) -> None:
    """25 times as fast as a rig: so are the delays, and all that a busy machine adds to them."""
    rig = load_rig(Path(order("files", folder=str(tmp_path))["rig"]))
    health = OwnRig(rig).check(STILL_S)
    assert [link.hello.device_id for link in health.links] == ["sim-1-sensor", "sim-1-carriage"]
    assert health.clocks is not None
    order("place", what="straightedge")
    plan = both_ways([straight_lane(rig)], rig.carriage.speed_mm_s)
    begin = ScanBegin("s2", "rail", None, "", "", "", "neckform 0", rig.text, None, {})
    asked = no_questions
    scan = read_scan(OwnRig(rig).record(begin, plan, tmp_path / "a.h5", NoProgress(), asked))
    assert scan.end == "done"
    assert scan.clocks is not None
    apart = scan.clocks.sensor[0].rate / scan.clocks.carriage[0].rate - 1.0
    assert abs(apart) < 0.002
    for one in (one for one in scan.passes if one.good):
        seen_mm = 0.005 * one.samples.x[[0, -1]]
        assert sorted(seen_mm) == pytest.approx([5.0, 613.0], abs=2.0)
        # the steel of the pads is a step up from the neck's bed: the readings lie where they were
        assert (one.samples.raw != ABSENT).any()


@pytest.mark.parametrize("words", [TWO])
@pytest.mark.parametrize("link", ["sensor", "carriage"])
def test_one_of_two_cables_pulled(link: str, order: Order, tmp_path: Path) -> None:
    class Puller(NoProgress):
        pulled = False

        def pass_ended(self, verdict: Verdict) -> None:
            if not self.pulled:
                self.pulled = True
                order("pull", link=link)

    rig = load_rig(Path(order("files", folder=str(tmp_path))["rig"]))
    plan = both_ways([straight_lane(rig)], rig.carriage.speed_mm_s)
    begin = ScanBegin("s3", "rail", None, "", "", "", "neckform 0", rig.text, None, {})
    port = rig.links[link].port
    with pytest.raises(RigError, match=f"{port}.*neckform recover"):
        OwnRig(rig).record(begin, plan, tmp_path / "a.h5", Puller(), no_questions)
    recover(tmp_path)
    assert len(read_scan(tmp_path / "a.h5").passes) == 1
    order("plug")
