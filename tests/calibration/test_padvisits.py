"""What passes read on the pads."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from calibration.drift.pads import pad_noise, pad_step, robust_mean, visit_pads
from calibration.passes import Pad, RawPass

MakePass = Callable[..., RawPass]


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


def test_the_edges_of_a_pad_are_left_out(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    def stepped(x: np.ndarray) -> np.ndarray:
        inside = ((x > 6.4) & (x < 13.6)) | (x > 602.4) & (x < 611.6)
        return np.where(inside, 0.0, 5.0)

    visits = visit_pads([make_pass(stepped)], pads)
    np.testing.assert_allclose(visits.z_mm, 0.0, atol=1e-12)


def test_a_sloping_pad_reads_the_same_from_either_end(
    make_pass: MakePass, pads: tuple[Pad, ...]
) -> None:
    """A pass that starts in the middle of the pad sees only its inner half."""

    def sloping(x: np.ndarray) -> np.ndarray:
        return 1e-3 * (x - 10.0)

    whole = make_pass(sloping)
    half = make_pass(sloping, span=(10.0, 616.0))
    visits = visit_pads([whole, half], pads)
    assert visits.z_mm[0, 0] == pytest.approx(0.0, abs=1e-6)
    assert visits.z_mm[1, 0] == pytest.approx(0.0, abs=1e-6)


def two_heights(x: np.ndarray) -> np.ndarray:
    return np.where(x > 300.0, 0.17, 0.0)


def test_one_pad_over_the_other_without_the_drift(
    make_pass: MakePass, pads: tuple[Pad, ...]
) -> None:
    passes = [
        make_pass(
            two_heights,
            direction=way,
            start_s=25.0 * k,
            drift=lambda t: 4e-4 * t,
            noise_mm=0.0015,
            seed=k,
        )
        for k, way in enumerate((1, -1, 1, -1))
    ]
    step = pad_step(visit_pads(passes, pads))
    assert step is not None
    assert step.step_mm == pytest.approx(0.17, abs=4 * step.u_step_mm)
    assert 0.02e-3 < step.u_step_mm < 0.3e-3
    assert pad_noise(passes, pads, 1e-3) == pytest.approx(0.0015, rel=0.1)


def test_no_pair_saw_both(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    short = make_pass(two_heights, span=(2.0, 500.0))
    assert pad_step(visit_pads([short, make_pass(two_heights, direction=-1)], pads)) is None
    assert pad_noise([make_pass(two_heights, span=(100.0, 500.0))], pads, 1e-3) is None
