"""A bumped sensor is named; a neck that was moved is not drift."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from calibration.drift.drift import find_drift
from calibration.passes import Pad, RawPass

MakePass = Callable[..., RawPass]
Passes = list[RawPass]
STEP_MM = 1e-3


@pytest.fixture
def calm(make_pass: MakePass) -> Passes:
    """Eight passes over four lanes of a sensor that drifts 20 um a minute, bending."""
    return [
        make_pass(
            lambda x: np.where((x > 25.0) & (x < 590.0), 0.05 * np.sin(x / 40.0), 0.0),
            direction=1 if k % 2 == 0 else -1,
            lane=1 + k // 2,
            start_s=25.0 * k,
            drift=lambda t: 0.02 * (t / 60.0 + 0.2 * np.sin(t / 24.0)),
            noise_mm=1.5e-3,
            quantum_mm=STEP_MM,
            seed=k,
        )
        for k in range(8)
    ]


def stepped(passes: Passes, at_s: float, by_mm: float) -> Passes:
    return [replace(p, z_mm=p.z_mm + by_mm * (p.t_s > at_s)) for p in passes]


@pytest.mark.parametrize("by_um", [40.0, -12.0])
def test_a_step_between_passes(calm: Passes, pads: tuple[Pad, ...], by_um: float) -> None:
    bumped = stepped(calm, calm[3].t_s[0] - 0.1, 1e-3 * by_um)
    plain, found = (find_drift(each, pads, STEP_MM) for each in (calm, bumped))
    (step,) = found.steps
    assert (step.before, step.after, step.within) == (3, 4, False)
    assert 1e3 * step.size_mm == pytest.approx(by_um, abs=4e3 * step.u_size_mm)
    assert str(step) == f"the sensor stepped by {by_um:+.0f} µm between pass 3 and 4"
    moved = found.drift_mm - plain.drift_mm
    assert np.mean(moved[3:]) - np.mean(moved[:3]) == pytest.approx(1e-3 * by_um, abs=0.5e-3)
    assert found.u_of(1) < 2.0 * plain.u_of(1)


def test_a_step_within_a_pass_makes_that_pass_uncertain(
    calm: Passes, pads: tuple[Pad, ...]
) -> None:
    bumped = stepped(calm, calm[4].t_s[0] + 14.0, 0.04)
    found = find_drift(bumped, pads, STEP_MM)
    assert found.remarks == ("the sensor stepped by +40 µm during pass 5",)
    assert found.u_of(4) > 0.015
    assert found.u_of(5) < 0.001


def test_none_is_seen_where_there_is_none(calm: Passes, pads: tuple[Pad, ...]) -> None:
    assert find_drift(calm, pads, STEP_MM).remarks == ()


def test_a_neck_that_moved_is_not_drift(calm: Passes, pads: tuple[Pad, ...]) -> None:
    """Between there and back over the second lane: the pads know nothing of it."""
    shifted = [
        replace(p, z_mm=p.z_mm + 0.03 * ((p.x_mm > 25.0) & (p.x_mm < 590.0))) if k >= 3 else p
        for k, p in enumerate(calm)
    ]
    plain, found = (find_drift(each, pads, STEP_MM) for each in (calm, shifted))
    assert found.remarks == ("the neck moved between pass 3 and 4",)
    np.testing.assert_allclose(found.drift_mm, plain.drift_mm, atol=0.6e-3)
