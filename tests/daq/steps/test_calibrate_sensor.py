"""The sensor's curve, gauge by gauge, over a scripted link."""

from __future__ import annotations

import queue
from pathlib import Path

import numpy as np
import pytest

from calibration.sensor import from_document
from daq.acquire.progress import NoProgress
from daq.errors import InputError, RigError
from daq.files.rig import RigFile, parse_rig
from daq.steps.calibrate_sensor import calibrate_sensor
from daq.steps.recording import Operator
from daq.wire import encode
from daq.workshop.place import Workshop

RIG = """\
name: bench-rail
links:
  rig: {port: /dev/fake, baud: 460800, protocol: line}
carriage:
  link: rig
  drive: motor
  mm_per_count: 0.005
  travel_mm: [0, 100]
  speed_mm_s: 25
sensor: {link: rig, kind: contact, mm_per_count: 0.001, rate_hz: 400, tip_radius_mm: 1.0}
pads:
  - {from_mm: 4, to_mm: 16}
  - {from_mm: 80, to_mm: 94}
"""
GAUGES = [0.0, 0.5, 1.0, 1.5, 2.0]


class GaugeRig:
    """Stands still and reads 1.02 times the gauge under it; None: nothing is there."""

    def __init__(self) -> None:
        self.gauge_mm: float | None = None
        self.moves = 0
        self._out: queue.Queue[bytes] = queue.Queue()

    def read(self) -> bytes:
        try:
            return self._out.get(timeout=0.005)
        except queue.Empty:
            return b""

    def write(self, data: bytes) -> None:
        letter = data[:1].decode()
        self.moves += letter in "MO"
        if letter == "H":
            self._out.put(encode.hello_reply("gauge-1", 1000))
            return
        self._out.put(encode.accept(letter))
        if letter == "G":
            raw = None if self.gauge_mm is None else 100 + round(1020 * self.gauge_mm)
            frames = (encode.sample(n, 2500 * n, 0, None, raw) for n in range(500))
            self._out.put(b"".join(frames))

    def close(self) -> None:
        pass


@pytest.fixture
def rig_file() -> RigFile:
    return parse_rig(RIG, "rig.yaml")


def run(tmp_path: Path, rig_file: RigFile, gauges: list[float], missing: int = -1) -> Workshop:
    rig, workshop = GaugeRig(), Workshop(tmp_path)
    coming = iter(range(len(gauges)))

    def ask(what: str) -> None:
        number = next(coming)
        assert what == f"Put the {gauges[number]:g} mm gauge under the tip"
        rig.gauge_mm = None if number == missing else gauges[number]

    operator = Operator(NoProgress(), ask)
    calibrate_sensor(workshop, rig_file, gauges, 0.2, operator, open_link=lambda port, baud: rig)
    assert rig.moves == 0
    return workshop


def test_the_curve_is_kept_and_undoes_the_sensor(tmp_path: Path, rig_file: RigFile) -> None:
    kept = run(tmp_path, rig_file, GAUGES).calibrations("bench-rail").latest("sensor")
    assert kept is not None
    curve = from_document(kept[1])
    value, u, inside = curve.apply(np.array([0.1 + 1.02 * 0.75, 2.5]))
    assert value[0] == pytest.approx(0.75, abs=5e-4)
    assert u[0] < 1e-3
    assert inside.tolist() == [True, False]


def test_a_gauge_that_is_not_there_keeps_nothing(tmp_path: Path, rig_file: RigFile) -> None:
    with pytest.raises(InputError, match=r"gauge 1 mm: 0 valid readings in 1 s; allowed at least"):
        run(tmp_path, rig_file, GAUGES, missing=2)
    assert Workshop(tmp_path).calibrations("bench-rail").latest("sensor") is None


def test_gauges_repeated_are_no_curve(tmp_path: Path, rig_file: RigFile) -> None:
    with pytest.raises(InputError, match="only 1 different gauges"):
        run(tmp_path, rig_file, [1.0, 1.0, 1.0])


def test_a_port_that_is_not_there(tmp_path: Path, rig_file: RigFile) -> None:
    operator = Operator(NoProgress(), lambda what: None)
    with pytest.raises(RigError, match="/dev/fake"):
        calibrate_sensor(Workshop(tmp_path), rig_file, GAUGES, 0.2, operator)
