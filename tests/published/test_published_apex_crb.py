"""Apex of a crown: Cramer-Rao bounds of CHECKS 14, and how near `fit_crowns` comes.

A parabola's closed forms check the bound as computed here; the same computation for a circle of
free radius is what the fit is held against.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.crowns.fit import Crowns, fit_crowns
from analysis.crowns.windows import HALF_MM, gather
from calibration.profile import Profile

DATA = Path(__file__).parent / "data" / "apex_crb.csv"
TABLE = np.loadtxt(DATA, delimiter=",", skiprows=2)
#: FIGURES: 24 crowns of radius 1.2 mm, a reading every 0.02 mm, noise 2 um
RADIUS_MM, STEP_MM, NOISE_MM, FRETS, PASSES = 1.2, 0.02, 0.002, 24, 30


def bound(derivatives: np.ndarray, sigma: float) -> np.ndarray:
    """Covariance of the best unbiased estimate: the inverse Fisher matrix."""
    return np.linalg.inv(derivatives.T @ derivatives / sigma**2)


@pytest.mark.parametrize(("n", "h", "r", "x0", "sigma", "height", "location"), TABLE)
def test_bound_of_a_parabola(
    n: float, h: float, r: float, x0: float, sigma: float, height: float, location: float
) -> None:
    """Parameters: height and place of the apex, curvature (printed to 12 digits)."""
    v = (np.arange(n) - (n - 1) / 2.0) * h - x0
    found = bound(np.column_stack([np.ones_like(v), v / r, v**2]), sigma)
    assert np.sqrt(found[0, 0]) == pytest.approx(height, rel=1e-10)
    assert np.sqrt(found[1, 1]) == pytest.approx(location, rel=1e-10)


@pytest.fixture(scope="module")
def clean_crowns(make_profile: Callable[..., Profile]) -> Crowns:
    rng = np.random.default_rng(14)
    centres = 10.0 + 12.0 * np.arange(FRETS)
    profiles = []
    for _ in range(PASSES):
        x = np.arange(0.0, centres[-1] + 10.0, STEP_MM) + STEP_MM * rng.uniform()
        off = np.abs(x[:, None] - centres).min(axis=1)
        z = np.where(off < RADIUS_MM, np.sqrt(np.clip(RADIUS_MM**2 - off**2, 0, None)), 0.0)
        z = z - RADIUS_MM + rng.normal(0.0, NOISE_MM, x.size)
        profiles.append(replace(make_profile(x, z), noise_mm=NOISE_MM))
    # the passes both ways over a lane show the same crowns, as a scan has it
    lane = np.repeat(np.arange(PASSES) // 2, FRETS) * FRETS + np.tile(np.arange(FRETS), PASSES)
    return fit_crowns(gather(profiles, [centres] * PASSES), 0.0, lane.tolist())


def test_bias(clean_crowns: Crowns) -> None:
    assert abs(np.mean(clean_crowns.z_mm)) < 0.15e-3


def test_variance_is_near_what_is_stated(clean_crowns: Crowns) -> None:
    stated = np.sqrt(np.mean(clean_crowns.u_noise_mm**2 + clean_crowns.u_shape_mm**2))
    # the share for a flat too small to see makes the statement the larger of the two
    assert 0.6 < np.std(clean_crowns.z_mm) / stated < 1.1


def test_variance_is_near_the_bound(clean_crowns: Crowns) -> None:
    v = np.arange(-HALF_MM, HALF_MM, STEP_MM)
    root = np.sqrt(RADIUS_MM**2 - v**2)
    best = np.sqrt(
        bound(np.column_stack([np.ones_like(v), v / root, RADIUS_MM / root - 1]), NOISE_MM)[0, 0]
    )
    found = np.std(clean_crowns.z_mm)
    # 720 crowns: 4 / sqrt(2 M) relative on a standard deviation; the radius is shared in part
    assert 0.75 < found / best < 1.25
