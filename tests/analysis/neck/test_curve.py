"""An error of scale in the sensor's curve is a term of the tops, and grows from their middle."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.curve import with_curve
from analysis.neck.neck import Tip, read_neck
from calibration.sensor.curve import SensorCurve


def test_scale_is_a_term(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    """0.1 % of scale, and an offset that no shape sees; noise as it was."""
    neck = read_neck(make_neck(walnut).profiles(seed=3), walnut, Tip(1.0))
    gauges = np.linspace(-2.0, 3.0, 6)
    curve = SensorCurve(
        reference_mm=0.5,
        coefficients=np.array([0.7, 1.0]),
        covariance=np.diag([0.05**2, 1e-3**2]),
        factor=2.0,
        scatter_mm=0.001,
        hysteresis_mm=0.0,
        reading_mm=gauges,
        gauge_mm=gauges,
        u_gauge_mm=np.zeros(6),
        shift_mm=np.zeros(6),
    )
    found = with_curve(neck, curve)
    off = 1e-3 * np.abs(neck.top_mm - neck.top_mm.mean())
    np.testing.assert_allclose(found.terms.parts["sensor"], off, atol=1e-9)
    np.testing.assert_allclose(found.u_top_mm, np.hypot(neck.u_top_mm, off))
    assert found.terms.parts["noise"] == pytest.approx(neck.terms.parts["noise"])
