"""The spot's width from how it rounds an edge off."""

from __future__ import annotations

import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.passes import Pad, RawPass
from calibration.probe.cap import ProbeError, cut_caps
from calibration.probe.spot import SpotFound, fit_spot, rounded_roof

PADS = (Pad(4.0, 16.0), Pad(600.0, 614.0))
COUNT_MM = (0.001, 0.001)
STEP_MM = 0.0213
SLOPES = (3.7, 3.4)


def seen(x: np.ndarray, spot: float) -> np.ndarray:
    """Mean over the spot of a blade 2 mm high on a flat, through its integral."""
    fine = np.arange(-4.0, 4.0, 1e-4)
    blade = np.maximum(2.0 - np.where(fine > 0, SLOPES[1] * fine, -SLOPES[0] * fine), 0.0)
    summed = np.concatenate([[0.0], np.cumsum(0.5 * (blade[1:] + blade[:-1]) * 1e-4)])
    ends = (np.interp(x + side * 0.5 * spot, fine, summed) for side in (1, -1))
    return np.asarray(np.subtract(*ends) / spot)


def passes(seed: int, spot: float, noise: float = 0.0015) -> list[RawPass]:
    rng, out = np.random.default_rng(seed), []
    for number in range(4):
        way = 1 if number % 2 == 0 else -1
        x = np.arange(290.0, 310.0, STEP_MM) + rng.uniform(0.0, STEP_MM)
        z = seen(np.clip(x - 300.0 - 0.03 * way, -3.9, 3.9), spot) + rng.normal(0, noise, x.size)
        hit = rng.random(x.size) < 1 / 2500
        z[hit] += rng.uniform(0.05, 0.5, np.count_nonzero(hit))
        x, z = (q * np.round(a / q) for a, q in zip((x, z), COUNT_MM, strict=True))
        t = np.arange(x.size) / 400.0
        out.append(RawPass(number // 2, np.nan, way, 8.5, t, x[::way], np.zeros_like(x), z[::way]))
    return out


def found(spot: float, seed: int = 1, u_edge: float = 0.0) -> SpotFound:
    return fit_spot(cut_caps(passes(seed, spot), PADS, COUNT_MM, 2.1), u_edge, 0.0)


@given(st.floats(0.02, 0.5))
def test_the_roof_is_the_mean_over_the_spot(spot: float) -> None:
    x = np.linspace(-0.25, 0.25, 101)
    roof = rounded_roof(x, spot, *SLOPES)
    expected = seen(x, spot)
    np.testing.assert_allclose(roof, expected - expected[50], atol=2e-4)


@pytest.mark.parametrize("spot", [0.06, 0.1, 0.3])
def test_the_width_comes_out(spot: float) -> None:
    spotted = found(spot)
    assert spotted.width_mm == pytest.approx(spot, abs=4.0 * spotted.u_mm)
    assert spotted.u_mm < 0.003
    assert spotted.passes == 4


def test_a_spot_too_narrow_to_be_seen_is_known_to_be_narrow() -> None:
    spotted = found(0.004)
    assert spotted.width_mm < 0.02
    assert abs(spotted.width_mm - 0.004) < 3.0 * spotted.u_mm


def test_a_round_edge_may_look_like_a_wider_spot() -> None:
    """Slope 3.55: a radius of 5 µm takes 13.4 µm off the crest, as 15 µm of spot do."""
    plain, u = found(0.1).u_mm, found(0.1, u_edge=0.005).u_mm
    slope = float(np.mean(SLOPES))
    expected = 0.005 * 4.0 * (np.hypot(1.0, slope) - 1.0) / slope
    assert u == pytest.approx(np.hypot(plain, expected), rel=0.02)


def test_a_pin_is_no_edge() -> None:
    x = np.arange(290.0, 310.0, STEP_MM)
    z = 3.0 - 1.5 + np.sqrt(np.maximum(1.5**2 - (x - 300.0) ** 2, 0.0))
    z = np.where(np.abs(x - 300.0) < 1.5, z, 0.0)
    one = RawPass(1, np.nan, 1, 8.5, np.arange(x.size) / 400.0, x, np.zeros_like(x), z)
    with pytest.raises(ProbeError, match="no edge rounded off"):
        fit_spot(cut_caps([one, one], PADS, COUNT_MM, 2.1), 0.0, 0.0)


@pytest.mark.campaign
def test_intervals_hold_the_truth_long(capsys: pytest.CaptureFixture[str]) -> None:
    spots = [found(0.1, seed) for seed in range(300)]
    held = np.mean([abs(one.width_mm - 0.1) <= 1.96 * one.u_mm for one in spots])
    with capsys.disabled():
        sys.stdout.write(f"\nspot of 0.1 mm: coverage {held:.3f}\n")
    assert 0.93 <= held <= 0.97
