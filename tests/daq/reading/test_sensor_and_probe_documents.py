"""A sensor's curve and a probe as they are kept, and a scan's readings beyond the gauges."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.passes import RawPass
from calibration.probe.spot import SpotFound
from calibration.probe.tip import TipFound
from calibration.sensor.curve import fit_sensor
from calibration.sensor.readings import GaugeReadings
from daq.errors import FileError, InputError
from daq.files.rig import RigFile, parse_rig
from daq.reading.found import Found, built
from daq.reading.probe import probe_document, probe_of, probe_words, tip_of
from daq.reading.sensor import sensor_document, sensor_of, sensor_words, through_curve
from daq.record.scan import Scan
from daq.wire.records import ABSENT, SampleBlock

GAUGES = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 2.5])
MADE = "2026-04-01T10:15:00+02:00"


def rig(optical: bool = False, size: float = 1.0) -> RigFile:
    text = Path("rig_configs/garage-rail.yaml").read_text(encoding="utf-8")
    kind = "kind: optical" if optical else "kind: contact"
    key = "spot_mm" if optical else "tip_radius_mm"
    lines = []
    for line in text.splitlines():
        if "tip_radius_mm" in line:
            line = f"  {key}: {size}"
        lines.append(line.replace("kind: contact", kind))
    return parse_rig("\n".join(lines), "rig.yaml")


def kept(reading: np.ndarray = GAUGES, gauge: np.ndarray = GAUGES) -> dict[str, Any]:
    fit = fit_sensor(GaugeReadings.once(reading, gauge, np.full(gauge.size, 5e-4)))
    document = sensor_document(fit, "garage-rail", MADE, {"both_ways": False})
    return cast(dict[str, Any], json.loads(json.dumps(document)))


@settings(deadline=None, max_examples=15)
@given(
    st.lists(st.floats(-0.01, 0.01), min_size=6, max_size=6),
    st.floats(0.9, 1.1),
    st.floats(-0.02, 0.02),
)
def test_round_trip_is_exact(noise: list[float], slope: float, bend: float) -> None:
    reading, gauge = GAUGES + np.array(noise), slope * GAUGES + bend * GAUGES**2
    curve = fit_sensor(GaugeReadings.once(reading, gauge, np.full(6, 5e-4))).curve
    back = sensor_of(kept(reading, gauge))
    at = np.linspace(-1.0, 4.0, 30)
    for one, other in zip(curve.apply(at), back.apply(at), strict=True):
        np.testing.assert_array_equal(one, other)
    assert back.range_mm == curve.range_mm


def test_a_document_of_before_hysteresis_is_still_read() -> None:
    old = kept()
    for key in ("factor", "shift_mm", "u_hysteresis_mm", "hysteresis"):
        del old[key]
    assert sensor_of(old).hysteresis_mm == 0.0
    np.testing.assert_allclose(sensor_of(old).residuals_mm, 0.0, atol=1e-6)


@pytest.mark.parametrize(
    "change",
    [
        {"coefficients": [1.0]},
        {"coefficients": [float("nan"), 1.0]},
        {"covariance": [[1.0]]},
        {"reading_mm": 3.0},
        {"reference_mm": "far"},
    ],
)
def test_a_damaged_curve_is_no_curve(change: dict[str, object]) -> None:
    with pytest.raises(FileError, match=r"sensor\.json.*damaged"):
        built(sensor_of, Found({**kept(), **change}, "sensor.json"))
    lacking = kept()
    del lacking["covariance"]
    with pytest.raises(FileError, match="found no key 'covariance'"):
        built(sensor_of, Found(lacking, "sensor.json"))


def one_pass(z_mm: np.ndarray) -> RawPass:
    x = np.arange(z_mm.size, dtype=float)
    return RawPass(1, 1.0, 1, 25.0, x / 400.0, x, np.zeros_like(x), z_mm)


def test_readings_beyond_the_gauges_are_left_out() -> None:
    curve = sensor_of(kept())
    passes = through_curve([one_pass(np.array([0.5, 1.0, 2.6, np.nan, 2.0]))], curve, "scan.h5")
    assert np.isfinite(passes[0].z_mm).tolist() == [True, True, False, False, True]


def test_a_scan_that_lies_beyond_the_gauges_is_refused() -> None:
    low = one_pass(np.array([0.5, 3.0, 3.4, np.nan, 3.1]))
    with pytest.raises(
        InputError,
        match=r"scan\.h5: 3 of 4 readings lie outside what the sensor's gauges covered, 0\.00 to "
        r"2\.50 mm; this scan reads from 0\.50 to 3\.40 mm",
    ):
        through_curve([low], sensor_of(kept()), "scan.h5")


def test_how_many_lie_beyond_is_said() -> None:
    raw = np.array([500, 1000, 2600, ABSENT, -20], dtype=np.int32)
    block = SampleBlock.empty()
    samples = SampleBlock(*(np.zeros(5, column.dtype) for column in _columns(block)))
    samples.raw[:] = raw
    passes = [SimpleNamespace(good=True, samples=samples), SimpleNamespace(good=False)]
    scan = cast(Scan, SimpleNamespace(passes=passes))
    curve = sensor_of(kept())
    found = Found(kept(), "sensor.json")
    assert sensor_words(found, curve, scan, rig()) == (
        f"sensor: calibrated {MADE}; 2 of 4 readings lie outside its gauges, 0.00 to 2.50 mm, and "
        "were left out"
    )
    samples.raw[:] = 500
    assert sensor_words(found, curve, scan, rig()) == f"sensor: calibrated {MADE}"
    assert sensor_words(None, None, scan, rig()) == "sensor: by its nominal mm per count"


def _columns(block: SampleBlock) -> tuple[np.ndarray, ...]:
    return (block.seq, block.t_us, block.x, block.y, block.raw, block.temp)


TIP = TipFound(1.0271, 0.0042, 0.0, 6, 1.7, 0.9)


def test_a_measured_tip_stands_in_for_the_rig_files() -> None:
    document = probe_document(TIP, rig(), MADE, {"over": "pin"})
    probe = probe_of(json.loads(json.dumps(document)))
    assert (probe.size_mm, probe.u_mm) == (1.0271, 0.0042)
    assert tip_of(rig(), probe).ball_mm == 1.0271
    assert tip_of(rig(), None).ball_mm == 1.0
    found = Found(document, "probe.json")
    assert probe_words(found, probe, rig()) == (
        f"probe: tip radius 1.0271 ± 0.0042 mm, measured {MADE}"
    )
    assert probe_words(None, None, rig()) == "probe: tip radius 1 mm by the rig file"


def test_a_spot_is_a_spot() -> None:
    document = probe_document(SpotFound(0.11, 0.002, 4, 1.0), rig(True, 0.1), MADE, {})
    probe = probe_of(document)
    tip = tip_of(rig(True, 0.1), probe)
    assert (tip.ball_mm, tip.spot_mm) == (0.0, 0.11)
    assert "probe: spot 0.1100 ± 0.0020" in probe_words(
        Found(document, "probe.json"), probe, rig(True, 0.1)
    )


@pytest.mark.parametrize("now", [rig(size=2.0), rig(True, 0.1)])
def test_another_tip_than_the_measured_one_is_the_rig_files(now: RigFile) -> None:
    document = probe_document(TIP, rig(), MADE, {})
    probe = probe_of(document)
    tip = tip_of(now, probe)
    assert max(tip.ball_mm, tip.spot_mm) in (2.0, 0.1)
    assert "calibrate the probe again" in probe_words(Found(document, "probe.json"), probe, now)


@pytest.mark.parametrize(
    "change", [{"tip_radius_mm": -1.0}, {"u_tip_radius_mm": float("nan")}, {"nominal_mm": "one"}]
)
def test_a_damaged_probe_is_no_probe(change: dict[str, object]) -> None:
    with pytest.raises(FileError, match="damaged"):
        built(probe_of, Found({**probe_document(TIP, rig(), MADE, {}), **change}, "probe.json"))
