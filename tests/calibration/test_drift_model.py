"""The drift's random function against the cubic smoothing spline, and by its definition."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import make_smoothing_spline

from calibration.drift.lattice import likely_part
from calibration.drift.model import Model, Settings
from calibration.drift.series import Series
from calibration.drift.steps import Step

NOISE_MM = 2e-4
RNG = np.random.default_rng(4)
T_S = np.sort(RNG.uniform(0.0, 300.0, 24))
READ_MM = 0.02 * np.sin(T_S / 50.0) + RNG.normal(0.0, NOISE_MM, T_S.size)


def series(pads: int = 1) -> Series:
    none = np.empty(0)
    pad = np.arange(T_S.size) % pads
    return Series(
        T_S, pad, none, READ_MM + 0.1 * pad, np.full(T_S.size, NOISE_MM), none.astype(int)
    )


@pytest.mark.parametrize("bending", [3e-6, 3e-5])
def test_an_integrated_walk_is_the_smoothing_spline(bending: float) -> None:
    """Wahba, Spline Models for Observational Data (1990), 1.4: lambda = u^2 / bending^2."""
    model = Model(series())
    t = np.linspace(0.0, 300.0, 40)
    mean, variance = model.drift(model.solve(Settings(0.0, bending, None, 0.0)), t)
    spline = make_smoothing_spline(T_S, READ_MM, lam=(NOISE_MM / bending) ** 2)
    inside = (t >= T_S[0]) & (t <= T_S[-1])
    np.testing.assert_allclose(
        (mean - mean.mean())[inside] - (spline(t) - mean.mean())[inside],
        np.mean((mean - spline(t))[inside]),
        atol=1e-7,
    )
    assert np.all(variance > 0.0)


def test_heights_of_pads_do_not_matter() -> None:
    settings = Settings(1e-5, 0.02, 60.0, 0.0)
    one, two = series(2), series(2)
    higher = Series(two.t_s, two.pad, two.x_mm, two.value_mm + 3.0 * two.pad, two.u_mm, two.turn)
    (a, va), (b, vb) = (m.drift(m.solve(settings), T_S) for m in (Model(one), Model(higher)))
    np.testing.assert_allclose(a, b, atol=1e-9)
    np.testing.assert_allclose(va, vb, rtol=1e-9)


def test_the_uncertainty_is_that_of_draws_from_the_model() -> None:
    """300 drifts drawn from a walk and a wander; 95 % intervals."""
    settings = Settings(5e-5, 5e-3, 40.0, 1e-4)
    at = np.linspace(T_S[0], T_S[-1], 15)
    t = np.concatenate([T_S, at])
    kernel = 25e-10 * np.minimum.outer(t, t) + 25e-6 * np.exp(
        -0.5 * (np.subtract.outer(t, t) / 40.0) ** 2
    )
    root = np.linalg.cholesky(kernel + 1e-16 * np.eye(t.size))
    plain, inside = series(2), []
    u = np.hypot(NOISE_MM, 1e-4)
    rng = np.random.default_rng(8)
    for _ in range(300):
        drift = root @ rng.normal(size=t.size) + 3e-4 * t
        read = drift[: T_S.size] + rng.normal(0.0, u, T_S.size)
        model = Model(Series(T_S, plain.pad, plain.x_mm, read, plain.u_mm, plain.turn))
        mean, variance = model.drift(model.solve(settings), at)
        off = mean - drift[T_S.size :] + drift[: T_S.size].mean()
        inside.append(np.abs(off) < 1.96 * np.sqrt(variance))
    assert 0.93 < np.mean(inside) < 0.97


def test_the_amount_of_a_known_effect() -> None:
    stepped = series()
    value = stepped.value_mm + 0.03 * (T_S > 150.0)
    model = Model(
        Series(T_S, stepped.pad, stepped.x_mm, value, stepped.u_mm, stepped.turn), [Step(150.0)]
    )
    (amount,), (variance,) = model.amounts(model.solve(Settings(0.0, 0.02, 80.0, 0.0)))
    assert amount == pytest.approx(0.03, abs=4.0 * np.sqrt(variance))
    assert 0.0 < variance < 1e-6


def test_too_few_readings_are_not_solvable() -> None:
    none = np.empty(0)
    two = Series(np.array([0.0, 25.0]), np.array([0, 1]), none, np.zeros(2), np.ones(2), none)
    assert not Model(two).solvable  # type: ignore[arg-type]
    assert Model(series()).solvable


def test_the_likely_part_of_a_lattice() -> None:
    """Every place within four of the top, however far the climb; and not all are looked at."""
    looked = []

    def chance(place: tuple[int, ...]) -> float:
        looked.append(place)
        return -0.5 * ((place[0] - 30) ** 2 + (place[1] - 5) ** 2 / 4.0)

    part = likely_part(chance, (40, 12), (2, 0))
    assert max(part, key=part.__getitem__) == (30, 5)
    assert len(set(looked)) < 200
    expected = {(i, j) for i in range(40) for j in range(12) if chance((i, j)) > -4.0}
    assert set(part) == expected
