"""Lag and screw as they are kept, told and read again."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from rich.console import Console

from calibration.lag.fit import LagFit
from calibration.lag.lag import Lag
from calibration.screw.fit import ScrewFit
from calibration.screw.screw import Screw
from daq.documents.calibration_lag import lag_answer
from daq.documents.calibration_screw import screw_answer
from daq.reading.lag import lag_document, lag_of
from daq.reading.screw import screw_document, screw_of
from daq.text.calibration_lag import print_lag
from daq.text.calibration_screw import print_screw

LAG = Lag(0.0035, 4e-6, 0.045, 1.5e-4, 4e-5, 5e-7, 309.0, -0.8)
FIT = LagFit(LAG, True, 4e-5, 5e-7, 0.05, 1.8, 0.01)
EVEN = LagFit(Lag(0.0035, 4e-6, 0.045, 1.5e-4, middle_mm=309.0), False, 1e-7, 5e-7, 0.05, 1.8, 0.01)
SCREW = Screw(1.0004, 5e-5, 300.0, 2.0, 0.003, 0.004, 0.0005)
SEEN = ScrewFit(SCREW, True, 6.0, 30.0, 1.2, 3, ("The scale is as good as scale_mm.",))
NONE = ScrewFit(Screw(0.9997, 5e-5, 300.0, 2.0, 0.0, 0.0, 0.01), False, 28.0, 30.0, 1.2, 1, ())


def words(print_it: object, found: object) -> str:
    out = io.StringIO()
    print_it(Console(file=out, width=400), found, Path("kept.json"))  # type: ignore[operator]
    return out.getvalue()


@pytest.mark.parametrize("fit", [FIT, EVEN])
def test_lag_comes_back_as_it_was(fit: LagFit) -> None:
    kept = json.loads(json.dumps(lag_document(fit, "rig", "2026-01-01T00:00:00+00:00", {})))
    back = lag_of(kept)
    for name in Lag.__slots__:
        assert getattr(back, name) == pytest.approx(getattr(fit.lag, name), rel=1e-12)


def test_a_lag_kept_before_backlash_could_vary_is_read() -> None:
    old = {"lag_ms": 3.5, "u_lag_ms": 0.01, "backlash_mm": 0.045, "u_backlash_mm": 0.001}
    lag = lag_of(old)
    assert (lag.lag_s, lag.backlash_per_mm, lag.correlation) == (0.0035, 0.0, 0.0)
    with pytest.raises(KeyError):
        lag_of({"lag_ms": 3.5})
    with pytest.raises(ValueError, match="missing"):
        lag_of({**old, "middle_mm": "nan"})


def test_lag_in_words() -> None:
    told = words(print_lag, FIT)
    assert "3.500 ± 0.008 ms" in told
    assert "45.0 ± 0.3 µm" in told
    assert "varies along the travel, by +40.0 ± 1.0 µm a metre" in told
    assert "0.05 µm apart along the travel" in told
    assert "1.80 µm in height" in told
    assert "varies by no more than 1.1 µm a metre" in words(print_lag, EVEN)
    answer = lag_answer(FIT, Path("a.json"), Path("b.h5"))
    assert answer["backlash_varies"] is True
    assert answer["backlash_um_per_m"] == 40.0


def test_screw_comes_back_as_it_was() -> None:
    kept = json.loads(json.dumps(screw_document(SEEN, "rig", "2026-01-01T00:00:00+00:00", {})))
    back = screw_of(kept)
    for name in Screw.__slots__:
        assert getattr(back, name) == pytest.approx(getattr(SCREW, name), rel=1e-12)
    for spoilt in ({"pitch_mm": 0.0}, {"scale": 40.0}, {"sine_um": "nan"}):
        with pytest.raises(ValueError, match=r"screw|missing"):
            screw_of({**kept, **spoilt})


def test_screw_in_words() -> None:
    told = words(print_screw, SEEN)
    assert "400 ± 100 ppm further than it counts" in told
    assert "Each turn of 2.000 mm it runs ahead and behind by 5.0 ± 1.0 µm" in told
    assert "The scale is as good as scale_mm." in told
    none = words(print_screw, NONE)
    assert "300 ± 100 ppm less far than it counts" in none
    assert "No periodic error seen; at most 28.0 µm." in none
    assert screw_answer(NONE, Path("a"), [Path("b")])["amplitude_um"] is None
    assert screw_answer(SEEN, Path("a"), [Path("b")])["amplitude_um"] == 5.0
