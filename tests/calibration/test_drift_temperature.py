"""The part of the drift that follows the temperature."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from calibration.drift.drift import Drift, find_drift
from calibration.drift.temperature import warmth_of
from calibration.passes import Pad, RawPass

MakePass = Callable[..., RawPass]
STEP_MM = 1e-3


def heating(t: np.ndarray) -> np.ndarray:
    """A heating that goes on and off, felt by the rig."""
    return 21.0 + 0.8 * np.sin(2.0 * np.pi * t / 77.0)


@pytest.fixture
def passes(make_pass: MakePass) -> list[RawPass]:
    return [
        make_pass(
            lambda x: np.zeros_like(x),
            direction=1 if k % 2 == 0 else -1,
            lane=1 + k // 2,
            start_s=25.0 * k,
            noise_mm=1.5e-3,
            seed=k,
        )
        for k in range(10)
    ]


def found(
    passes: list[RawPass], pads: tuple[Pad, ...], um_per_c: float, told: bool = True
) -> Drift:
    warm = [
        replace(
            p,
            z_mm=p.z_mm + 1e-3 * um_per_c * heating(p.t_s) + 0.01 * p.t_s / 60.0,
            temp_c=np.round(heating(p.t_s), 2) if told else None,
        )
        for p in passes
    ]
    return find_drift(warm, pads, STEP_MM)


def test_what_a_degree_does_is_found(passes: list[RawPass], pads: tuple[Pad, ...]) -> None:
    drift = found(passes, pads, 8.0)
    assert drift.per_degree is not None
    assert abs(1e3 * drift.per_degree.k_mm - 8.0) < 4e3 * drift.per_degree.u_k_mm
    assert drift.per_degree.u_k_mm < 0.5e-3
    blind = found(passes, pads, 8.0, told=False)
    assert drift.u_of(4) < blind.u_of(4)


def test_a_temperature_that_does_nothing_is_not_used(
    passes: list[RawPass], pads: tuple[Pad, ...]
) -> None:
    assert found(passes, pads, 0.0).per_degree is None


def test_no_temperature_or_a_steady_one(passes: list[RawPass]) -> None:
    assert warmth_of(passes) is None
    steady = [replace(p, temp_c=np.full(p.t_s.size, 21.0)) for p in passes]
    assert warmth_of(steady) is None
    absent = [replace(p, temp_c=np.full(p.t_s.size, np.nan)) for p in passes]
    assert warmth_of(absent) is None


def test_it_is_averaged_and_about_its_mean(passes: list[RawPass]) -> None:
    told = [replace(p, temp_c=heating(p.t_s)) for p in passes]
    told[3] = replace(told[3], temp_c=np.where(told[3].t_s % 2 < 1, np.nan, told[3].temp_c))
    warmth = warmth_of(told)
    assert warmth is not None
    assert np.mean(warmth.rise_c) == pytest.approx(0.0, abs=1e-12)
    t = passes[5].t_s
    np.testing.assert_allclose(np.ptp(warmth.at(t) - heating(t)), 0.0, atol=0.05)
