"""Drift from the pads."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from calibration.drift import fit_drift, robust_mean, visit_pads
from calibration.passes import Pad, RawPass

MakePass = Callable[..., RawPass]
SLOPE_MM_S = 4e-5


def session(make_pass: MakePass, drift: Callable[[np.ndarray], np.ndarray], **how: float) -> list:
    """Six passes there and back over a flat rail, 30 s apart."""
    return [
        make_pass(
            lambda x: np.zeros_like(x),
            direction=1 if k % 2 == 0 else -1,
            lane=1 + k // 2,
            start_s=30.0 * k,
            drift=drift,
            seed=k,
            **how,
        )
        for k in range(6)
    ]


@pytest.mark.parametrize("slope", [SLOPE_MM_S, -SLOPE_MM_S])
def test_linear_drift_is_taken_off(
    make_pass: MakePass, pads: tuple[Pad, ...], slope: float
) -> None:
    passes = session(make_pass, lambda t: slope * t, noise_mm=0.002)
    drift = fit_drift(visit_pads(passes, pads))
    left = [one.z_mm - drift.at(i, one.t_s) for i, one in enumerate(passes)]
    levels = np.array([np.mean(z) for z in left])
    # 140 readings on a pad of 2 um noise: 0.17 um each
    assert np.ptp(levels) < 0.8e-3
    slopes = [np.polyfit(p.t_s, z, 1)[0] for p, z in zip(passes, left, strict=True)]
    assert np.max(np.abs(slopes)) < 0.5 * SLOPE_MM_S


def test_a_step_between_passes_is_taken_off(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    passes = session(make_pass, lambda t: np.where(t < 87.0, 0.0, 0.02))
    drift = fit_drift(visit_pads(passes, pads))
    levels = [np.mean(p.z_mm - drift.at(i, p.t_s)) for i, p in enumerate(passes)]
    assert np.ptp(levels) < 1e-9


def test_stated_uncertainty_is_that_of_the_line(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    ends, stated = [], []
    for seed in range(60):
        one = make_pass(lambda x: np.zeros_like(x), noise_mm=0.002, seed=seed)
        drift = fit_drift(visit_pads([one], pads))
        visits = visit_pads([one], pads)
        ends.append(np.mean(visits.z_mm))
        stated.append(drift.u_of(0))
    assert np.std(ends) == pytest.approx(np.mean(stated), rel=0.3)


def test_quantised_pads(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    """Every reading of a pad equal: zero spread, and still the drift of a whole step is seen."""
    passes = session(make_pass, lambda t: np.where(t < 87.0, 0.0, 0.003), quantum_mm=0.001)
    visits = visit_pads(passes, pads)
    assert np.all(visits.u_mm < 1e-15)
    drift = fit_drift(visits)
    np.testing.assert_allclose(drift.drift_mm[:3], -0.0015, atol=1e-12)
    np.testing.assert_allclose(drift.drift_mm[3:], 0.0015, atol=1e-12)


def test_robust_mean_with_zero_median_deviation_leaves_nothing_out() -> None:
    values = np.array([1.0] * 9 + [1.01])
    mean, u = robust_mean(values)
    assert mean == pytest.approx(1.001)
    assert u == pytest.approx(np.std(values, ddof=1) / np.sqrt(10))


def test_robust_mean_leaves_wild_readings_out() -> None:
    values = np.random.default_rng(1).normal(2.0, 0.01, 500)
    wild = values.copy()
    wild[:20] += 5.0
    assert robust_mean(wild)[0] == pytest.approx(2.0, abs=0.002)


def test_a_pass_that_misses_a_pad(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    """Its drift is then level, from the pad it saw; one that saw none has no drift."""
    passes = session(make_pass, lambda t: SLOPE_MM_S * t)
    for k in (2, 4):
        z = passes[k].z_mm.copy()
        z[passes[k].x_mm > 580.0] = np.nan
        if k == 4:
            z[passes[k].x_mm < 30.0] = np.nan
        old = passes[k]
        passes[k] = RawPass(
            old.lane, old.string, old.direction, old.speed_mm_s, old.t_s, old.x_mm, old.y_mm, z
        )
    visits = visit_pads(passes, pads)
    assert np.isfinite(visits.z_mm[2]).tolist() == [True, False]
    drift = fit_drift(visits)
    assert np.ptp(drift.at(2, passes[2].t_s)) == 0.0
    assert np.all(drift.at(4, passes[4].t_s) == 0.0)
    assert drift.u_of(4) == 0.0


def test_the_edges_of_a_pad_are_left_out(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    def stepped(x: np.ndarray) -> np.ndarray:
        inside = ((x > 6.4) & (x < 13.6)) | (x > 602.4) & (x < 611.6)
        return np.where(inside, 0.0, 5.0)

    visits = visit_pads([make_pass(stepped)], pads)
    np.testing.assert_allclose(visits.z_mm, 0.0, atol=1e-12)


def test_no_pads_no_drift(make_pass: MakePass) -> None:
    one = make_pass(lambda x: np.zeros_like(x))
    drift = fit_drift(visit_pads([one], ()))
    assert np.all(drift.at(0, one.t_s) == 0.0)
