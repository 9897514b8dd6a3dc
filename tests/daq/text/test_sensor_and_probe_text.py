"""What is said of a sensor's curve and of a tip or a spot, pinned line by line."""

from __future__ import annotations

import io
import os
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from calibration.probe.spot import SpotFound
from calibration.probe.tip import TipFound
from calibration.sensor.curve import SensorFit, fit_sensor
from calibration.sensor.readings import GaugeReadings
from daq.documents.calibration_probe import probe_answer
from daq.documents.calibration_sensor import sensor_answer
from daq.steps.calibrate_probe import ProbeCalibrated
from daq.text.calibration_probe import print_probe
from daq.text.calibration_sensor import print_sensor
from daq.text.console import make_console

GOLDEN = Path(__file__).parent / "golden"
PATH = Path("shop/calibrations/garage-rail/sensor-20260401T101500.json")
SCAN = Path("shop/calibrations/garage-rail/scans/004-probe.h5")
Page = tuple[Console, io.StringIO]


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> Page:
    """A console into a text, as into a pipe."""
    for name in ("COLUMNS", "FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    stream = io.StringIO()
    return make_console(stream), stream


def check(name: str, stream: io.StringIO) -> None:
    """The text is the pinned one, plain, and fits."""
    text = "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 80
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


def fitted(count: int, loop_mm: float, bend: float, both_ways: bool) -> SensorFit:
    there = np.arange(count)
    which = np.concatenate([there, there[-2::-1]]) if both_ways else there
    way = np.where(np.arange(which.size) < count, 1, -1)
    gauge = 0.5 * which
    noise = 1e-4 * np.sin(3.0 + 2.0 * np.arange(which.size))
    t_s = 10.0 * np.arange(which.size)
    reading = gauge - 0.5 * way * loop_mm + 1e-4 * t_s + bend * gauge**2 + noise
    return fit_sensor(GaugeReadings(gauge, np.full(gauge.size, 2e-4), reading, way, t_s, 0.0))


SENSORS = {
    "sensor_line": fitted(6, 0.0, 0.0, True),
    "sensor_hysteresis": fitted(6, 0.003, 0.004, True),
    "sensor_one_way": fitted(4, 0.0, 0.0, False),
}
TIP = TipFound(1.00042, 0.0021, 0.0, 6, 1.62, 0.91)
PROBES = {
    "probe_agrees": TIP,
    "probe_off": TipFound(1.0271, 0.0042, 0.31, 6, 1.7, float("nan")),
    "probe_spot": SpotFound(0.0994, 0.0012, 4, 1.8),
}


def found(name: str) -> ProbeCalibrated:
    nominal = 0.1 if name == "probe_spot" else 1.0
    return ProbeCalibrated(PROBES[name], nominal, PATH, SCAN)


@pytest.mark.parametrize("name", SENSORS)
def test_sensor(page: Page, name: str) -> None:
    print_sensor(page[0], SENSORS[name], PATH)
    check(name, page[1])


@pytest.mark.parametrize("name", PROBES)
def test_probe(page: Page, name: str) -> None:
    print_probe(page[0], found(name))
    check(name, page[1])


def test_the_sensors_document() -> None:
    document = sensor_answer(SENSORS["sensor_hysteresis"], PATH)
    assert document["order"] == 2
    assert len(document["readings"]) == 11
    assert document["readings"][3]["gauge_mm"] == 1.5
    assert document["hysteresis"]["seen"] is True
    assert document["hysteresis"]["falling_less_rising_um"] == pytest.approx(3.0, abs=0.3)
    assert [one["gauge_mm"] for one in document["hysteresis"]["gauges"]] == [0, 0.5, 1, 1.5, 2]
    plain = sensor_answer(SENSORS["sensor_one_way"], PATH)
    assert plain["hysteresis"] is None
    assert plain["chance_of_no_more"] is None


def test_the_probes_document() -> None:
    document = probe_answer(found("probe_off"))
    assert document["tip_radius_mm"] == 1.0271
    assert document["u_tip_radius_mm"] == 0.0042
    assert document["agrees"] is False
    assert document["pin_left_um"] is None
    assert probe_answer(found("probe_agrees"))["agrees"] is True
    assert probe_answer(found("probe_spot"))["spot_mm"] == 0.0994
