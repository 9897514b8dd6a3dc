"""Repeated scans of a neck without a rig: what is done with them, whole, cut short or no good."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.neck.tops import Tops, tops_along
from daq.acquire.passes.progress import NoProgress
from daq.errors import InputError, RigError
from daq.files.instrument import load_instrument
from daq.files.rig import RigFile, parse_rig
from daq.steps.calibrate_repeatability import RepeatabilityFound, calibrate_repeatability
from daq.steps.recording import Operator
from daq.steps.repeated_scans import ReadTops, RepeatBench, Repeats, chosen_lanes
from daq.workshop.place import Workshop

FILE = Path(__file__).parents[3] / "rig_configs" / "walnut-parlour.yaml"
RIG = """\
name: bench-rail
links:
  rig: {port: /dev/fake, baud: 460800, protocol: line}
carriage:
  link: rig
  drive: motor
  mm_per_count: 0.005
  travel_mm: [0, 640]
  speed_mm_s: 25
  cross: {mm_per_count: 0.01}
sensor: {link: rig, kind: contact, mm_per_count: 0.001, rate_hz: 400, tip_radius_mm: 1.0}
pads:
  - {from_mm: 4, to_mm: 16}
  - {from_mm: 600, to_mm: 614}
"""


@pytest.fixture(scope="module")
def rig() -> RigFile:
    return parse_rig(RIG, "rig.yaml")


@pytest.fixture(scope="module")
def seen(make_neck: Callable[..., Any], walnut: Instrument) -> tuple[Neck, Tops]:
    """A neck by the lanes under strings 1, 3 and 6."""
    made = make_neck(walnut)
    profiles = [p for p in made.profiles(seed=3) if p.string in (1.0, 3.0, 6.0)]
    neck = read_neck(profiles, walnut, Tip(1.0))
    return neck, tops_along(neck, walnut, neck.string)


class FakeBench:
    """Every scan is the same neck with a little noise; the numbered one fails."""

    def __init__(self, folder: Path, seen: tuple[Neck, Tops]) -> None:
        self.folder, self.seen = folder, seen
        self.labels: list[str] = []
        self.fails_at = 0
        self.moved_mm = 0.0
        self.rng = np.random.default_rng(1)

    def scan(self, state: str, label: str) -> ReadTops:
        self.labels.append(label)
        if len(self.labels) == self.fails_at:
            raise RigError("the rig does not answer")
        neck, tops = self.seen
        z = tops.z_mm + 4e-4 * self.rng.normal(size=tops.z_mm.shape)
        if label.startswith("clamping 2"):
            z[8, 1] += self.moved_mm
        path = self.folder / f"{len(self.labels):03d}-repeatability.h5"
        return ReadTops(path, neck, replace(tops, z_mm=z))


@pytest.fixture
def bench(tmp_path: Path, seen: tuple[Neck, Tops], monkeypatch: pytest.MonkeyPatch) -> FakeBench:
    fake = FakeBench(tmp_path / "scans", seen)
    monkeypatch.setattr(RepeatBench, "scan", lambda _, state, label: fake.scan(state, label))
    return fake


Run = Callable[..., RepeatabilityFound]


@pytest.fixture
def run(tmp_path: Path, rig: RigFile, bench: FakeBench) -> Run:
    """Runs with so many scans and clampings; asked: what the person was told to do."""

    def run(scans: int, clampings: int, ask: Callable[[str], None] | None = None) -> Any:
        return calibrate_repeatability(
            Workshop(tmp_path),
            rig,
            load_instrument(FILE),
            Repeats("unstrung", scans, clampings),
            Operator(bench, NoProgress(), ask or (lambda _: None)),
        )

    return run


def _kept(tmp_path: Path) -> list[Path]:
    return Workshop(tmp_path).calibrations("bench-rail").documents("repeatability")


def test_scans_clampings_and_what_is_asked(run: Run, bench: FakeBench, tmp_path: Path) -> None:
    asked: list[str] = []
    found = run(3, 2, asked.append)
    assert bench.labels == [f"clamping {c}, scan {s}" for c in (1, 2) for s in (1, 2, 3)]
    assert len(asked) == 1
    assert asked[0].endswith("still unstrung (clamping 2 of 2)")
    assert found.caution is None
    assert found.study.tops.anova.groups == 2
    assert found.study.tops.anova.s_r == pytest.approx(4e-4, rel=0.15)
    assert found.budgets.top is not None
    assert 1e-4 < found.budgets.u_datum_mm < 5e-3
    assert _kept(tmp_path) == [found.path]


def test_a_scan_that_fails_leaves_what_was_whole(run: Run, bench: FakeBench) -> None:
    bench.fails_at = 8
    found = run(3, 3)
    assert found.caution == "the rig does not answer; this rests on the 7 scans made before"
    assert [len(scans) for scans in found.scans] == [3, 3]


def test_most_scans_are_used(run: Run, bench: FakeBench) -> None:
    """3 and 2 of them: two of each."""
    bench.fails_at = 6
    assert [len(scans) for scans in run(3, 3).scans] == [2, 2]


def test_too_few_by_then_keep_nothing(run: Run, bench: FakeBench, tmp_path: Path) -> None:
    bench.fails_at = 5
    with pytest.raises(RigError, match="does not answer; the 4 scans made before tell too little"):
        run(3, 3)
    assert _kept(tmp_path) == []


def test_giving_up_at_a_question(run: Run) -> None:
    def give_up(what: str) -> None:
        if "3 of 3" in what:
            raise KeyboardInterrupt

    assert run(2, 3, give_up).caution == "stopped; this rests on the 4 scans made before"


def test_giving_up_too_soon(run: Run) -> None:
    def give_up(_: str) -> None:
        raise KeyboardInterrupt

    with pytest.raises(RigError, match="stopped; the 2 scans made before tell too little"):
        run(2, 3, give_up)


def test_a_neck_that_changed_is_refused(run: Run, bench: FakeBench, tmp_path: Path) -> None:
    bench.moved_mm = 0.04
    with pytest.raises(InputError, match=r"fret 9 at string 3 .* Nothing was kept"):
        run(2, 2)
    assert _kept(tmp_path) == []


@pytest.mark.parametrize(("scans", "clampings", "name"), [(1, 3, "--scans"), (3, 1, "--clampings"),
                         (51, 3, "--scans")])  # fmt: skip
def test_too_few_to_scatter(
    run: Run, bench: FakeBench, scans: int, clampings: int, name: str
) -> None:
    with pytest.raises(InputError, match=f"{name}: found .*; allowed 2 to 50"):
        run(scans, clampings)
    assert bench.labels == []


def _strings(walnut: Instrument, rig: RigFile, state: str, *strings: float) -> list[float | None]:
    return [one.string for one in chosen_lanes(walnut, rig, Repeats(state, 3, 3, strings))]


def test_lanes(walnut: Instrument, rig: RigFile) -> None:
    assert _strings(walnut, rig, "unstrung") == [1.0, 3.0, 6.0]
    assert _strings(walnut, rig, "strung") == [1.5, 3.5, 5.5]
    assert _strings(walnut, rig, "unstrung", 6.0, 2.5, 1.0) == [1.0, 2.5, 6.0]


@pytest.mark.parametrize(
    ("state", "strings"),
    [("unstrung", (1.0, 7.0, 6.0)), ("unstrung", (1.0, 3.0)), ("strung", (1.0, 6.0))],
)
def test_lanes_that_will_not_do(
    walnut: Instrument, rig: RigFile, state: str, strings: tuple[float, ...]
) -> None:
    with pytest.raises(InputError, match=r"--lanes: found .*; allowed lanes of the .* the outer"):
        _strings(walnut, rig, state, *strings)
