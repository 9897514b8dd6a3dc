"""The sensor's curve, gauge by gauge, over a scripted link."""

from __future__ import annotations

import queue
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import pytest

from daq.acquire.passes.progress import NoProgress
from daq.acquire.use import OwnRig
from daq.errors import InputError, RigError
from daq.files.rig import RigFile, parse_rig
from daq.reading.sensor import sensor_of
from daq.steps.calibrate_sensor import Gauge, SensorCalibrated, calibrate_sensor
from daq.steps.recording import Operator
from daq.wire.line import encode
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
MM = (0.0, 0.5, 1.0, 1.5, 2.0)
GAUGES = [Gauge(mm, 0.2) for mm in MM]
#: What the rig file's sensor asks for, gauge by gauge: up, then down again.
VISITS = [*MM, *MM[-2::-1]]


class GaugeRig:
    """Stands still and reads 1.02 times the gauge under it; None: nothing is there.

    Falling it reads 3 µm higher than rising, and it drifts by 6 µm a minute. Its clock runs from
    just before its counter wraps, 10 s from gauge to gauge.
    """

    def __init__(self) -> None:
        self.gauge_mm: float | None = None
        self.sinks = False
        self.looks = 0
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
            self._out.put(b"".join(self._frames()))

    def _frames(self) -> Iterator[bytes]:
        start_us = 2**32 - 25_000_000 + 10_000_000 * self.looks
        self.looks += 1
        noise = np.random.default_rng(self.looks).normal(0.0, 1.5, 500)
        for n in range(500):
            t_us = start_us + 2500 * n
            raw = None
            if self.gauge_mm is not None:
                run_um = 3.0 * self.sinks + 1e-7 * (t_us - 2**32)
                raw = 100 + round(1020.0 * self.gauge_mm + run_um + float(noise[n]))
            yield encode.sample(n, t_us % 2**32, 0, None, raw)

    def close(self) -> None:
        pass


@pytest.fixture
def rig_file() -> RigFile:
    return parse_rig(RIG, "rig.yaml")


def run(
    tmp_path: Path,
    rig_file: RigFile,
    really: Sequence[float | None] = VISITS,
    both_ways: bool = True,
) -> SensorCalibrated:
    """really: what is put under the tip at each visit, whatever was asked for."""
    rig, asked = GaugeRig(), []

    def ask(what: str) -> None:
        rig.gauge_mm = really[len(asked)]
        rig.sinks = "from above" in what
        asked.append(what.partition(":")[0])

    done = calibrate_sensor(
        Workshop(tmp_path),
        rig_file,
        GAUGES,
        Operator(OwnRig(rig_file, lambda *_: rig), NoProgress(), ask),
        both_ways=both_ways,
    )
    wanted = [f"Put the {mm:g} mm gauge under the tip" for mm in MM]
    wanted += [f"{words} again" for words in wanted[-2::-1]] if both_ways else []
    assert asked == wanted
    assert rig.moves == 0
    return done


def kept(tmp_path: Path) -> dict[str, object] | None:
    latest = Workshop(tmp_path).calibrations("bench-rail").latest("sensor")
    return None if latest is None else latest[1]


def test_the_curve_is_kept_and_undoes_the_sensor(tmp_path: Path, rig_file: RigFile) -> None:
    done = run(tmp_path, rig_file)
    document = kept(tmp_path)
    assert document is not None
    curve = sensor_of(document)
    # between the first gauge read and the last 80 s and 8 µm of drift went by: 4 in the middle
    at = 0.1 + 1.02 * 0.75 + 0.0015 + 1e-4 * (40.0 - 25.0)
    value, u, inside = curve.apply(np.array([at, 2.5]))
    assert value[0] == pytest.approx(0.75, abs=1e-3)
    assert 0.0012 < u[0] < 0.0018
    assert inside.tolist() == [True, False]
    loop = done.fit.hysteresis
    assert loop is not None
    assert loop.seen
    assert loop.whole_mm == pytest.approx(0.003 / 1.02, abs=5e-4)
    assert 60.0 * loop.drift_mm_s == pytest.approx(0.006 / 1.02, abs=5e-4)


def test_what_is_kept_says_all_of_the_curve(tmp_path: Path, rig_file: RigFile) -> None:
    curve = run(tmp_path, rig_file).fit.curve
    document = kept(tmp_path)
    assert document is not None
    assert document["both_ways"] is True
    back = sensor_of(document)
    at = np.linspace(-1.0, 4.0, 30)
    for one, other in zip(curve.apply(at), back.apply(at), strict=True):
        np.testing.assert_array_equal(one, other)
    np.testing.assert_array_equal(curve.residuals_mm, back.residuals_mm)
    assert curve.factor == back.factor


def test_one_way_asks_once_and_tells_no_hysteresis(tmp_path: Path, rig_file: RigFile) -> None:
    assert run(tmp_path, rig_file, MM, both_ways=False).fit.hysteresis is None


@pytest.mark.parametrize(
    ("really", "says"),
    [
        (
            [0.0, 0.5, None],
            r"gauge 1 mm: 0 valid readings in 1 s; allowed at least 20: is it under the tip, and "
            r"in the sensor's range\? nothing was kept",
        ),
        (
            [0.0, 1.0, 0.5, *VISITS[3:]],
            r"gauges 0\.5 and 1 mm seem to have been exchanged \(tip rising\).*; nothing was kept",
        ),
        ([0.0, 0.5, 0.5, *VISITS[3:]], r"gauges 0\.5 and 1 mm read the same.*\? nothing was kept"),
        ([0.0, 0.5, 1.05, *VISITS[3:]], r"gauge 1 mm does not belong to the others: it reads \+5"),
        ([1.0] * 9, r"hardly change with the gauges.*\? nothing was kept"),
    ],
)
def test_wrong_gauges_are_named_and_nothing_is_kept(
    tmp_path: Path, rig_file: RigFile, really: Sequence[float | None], says: str
) -> None:
    with pytest.raises(InputError, match=says):
        run(tmp_path, rig_file, really)
    assert kept(tmp_path) is None


def test_an_optical_sensor_is_not_asked_to_climb(tmp_path: Path) -> None:
    optical = parse_rig(RIG.replace("contact", "optical").replace("tip_radius", "spot"), "rig.yaml")
    asked: list[str] = []

    def ask(what: str) -> None:
        asked.append(what)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        calibrate_sensor(
            Workshop(tmp_path),
            optical,
            GAUGES,
            Operator(OwnRig(optical, lambda *_: GaugeRig()), NoProgress(), ask),
        )
    assert asked == ["Put the 0 mm gauge under the sensor"]


def test_a_port_that_is_not_there(tmp_path: Path, rig_file: RigFile) -> None:
    operator = Operator(OwnRig(rig_file), NoProgress(), lambda what: None)
    with pytest.raises(RigError, match="/dev/fake"):
        calibrate_sensor(Workshop(tmp_path), rig_file, GAUGES, operator)
