"""The smooth movement between two scans."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from analysis.movement.movement import Field, fit_movement

X = np.cumsum(np.linspace(36.0, 12.0, 22))[:, None] * np.ones(5)
JOINT_MM = 400.0
Y = np.ones((22, 1)) * np.array([-20.0, -10.0, 0.0, 10.0, 20.0])
U = np.full(X.shape, 0.0012)


def bend(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Evenly bent to the body joint, straight on along the tangent past it, and a turn."""
    bent = np.minimum(x, 400.0)
    bow = 1e-5 * 0.5 * bent * (bent - 400.0) + 2e-3 * np.clip(x - 400.0, 0.0, None)
    return 0.03 + bow + y / 20.0 * 0.02 * (x / 450.0) ** 2


def fit(seed: int, extra: np.ndarray | float = 0.0, u: np.ndarray = U) -> Field:
    rng = np.random.default_rng(seed)
    return fit_movement(X, Y, bend(X, Y) + rng.normal(0.0, 1.0, X.shape) * u + extra, u, JOINT_MM)


def test_a_known_field_is_recovered() -> None:
    field = fit(1)
    x, y = np.meshgrid(np.linspace(X.min(), X.max(), 60), np.linspace(-20.0, 20.0, 9))
    off = field.at(x, y)[0] - bend(x, y)
    assert np.std(off) < 0.4e-3
    assert np.max(np.abs(off)) < 1.5e-3
    assert not field.odd.any()


def test_uncertainty_covers() -> None:
    within = []
    for seed in range(25):
        value, u = fit(seed).at(X, Y)
        within.append(np.abs(value - bend(X, Y)) < 2.0 * u)
    assert 0.92 < np.mean(within) < 0.99


def outermost(field: Field, true: Callable[..., np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Errors and u half a lane outside the outer lanes, where the outer strings run."""
    x = X[:, :2]
    y = np.array([-25.0, 25.0]) * np.ones((22, 1))
    value, u = field.at(x, y)
    return value - true(x, y), u


def test_outside_the_lanes_too() -> None:
    """Half a lane further out: two thirds of a point's noise at most, and u says it is more."""
    fits = [fit(seed) for seed in range(25)]
    off, u = (np.array(each) for each in zip(*(outermost(f, bend) for f in fits), strict=True))
    assert np.sqrt(np.mean(off**2)) < 0.8e-3
    assert 0.92 < np.mean(np.abs(off) < 2.0 * u) < 0.99
    inner = np.array([f.at(X, Y)[1] for f in fits])
    assert np.median(u) > 1.2 * np.median(inner)


@pytest.mark.parametrize("joint", [355.0, 415.0])
def test_the_joint_need_not_be_where_the_file_says(joint: float) -> None:
    """A heel that begins 45 mm before the body-joint fret, a joint 15 mm past it."""
    worst = []
    for seed in range(8):
        rng = np.random.default_rng(seed)
        noisy = bend(X, Y) + rng.normal(0.0, 1.0, X.shape) * U
        field = fit_movement(X, Y, noisy, U, 400.0 + (400.0 - joint))
        worst.append(np.std(field.at(X, Y)[0] - bend(X, Y)))
    assert np.mean(worst) < 0.5e-3


def arched(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Wood arches across as it bends along: Poisson's ratio 0.4 on an even bend of 1.2e-5."""
    return np.asarray(0.5 * 1.2e-5 * ((x - 230.0) ** 2 - 0.4 * y**2))


def test_the_arch_across_is_found() -> None:
    """1.5 um at the outer strings that a field linear in y would miss, to a third of that."""
    off, ratio = [], []
    for seed in range(12):
        noise = np.random.default_rng(seed).normal(0.0, 1.0, X.shape) * U
        field = fit_movement(X, Y, arched(X, Y) + noise, U, JOINT_MM)
        off.append(outermost(field, arched)[0])
        ratio.append((field.coefficients[-1], np.sqrt(field.covariance[-1, -1])))
    value, u = np.transpose(ratio)
    assert np.mean(value) == pytest.approx(0.4, abs=0.1)
    assert np.std((value - 0.4) / u) < 1.6
    assert abs(np.mean(off)) < 0.3e-3


def test_uncertainty_is_much_less_than_a_point() -> None:
    _, u = fit(2).at(X, Y)
    assert np.median(u) < 0.5 * U[0, 0]


def test_no_movement_is_none() -> None:
    rng = np.random.default_rng(3)
    field = fit_movement(X, Y, rng.normal(0.0, 0.0012, X.shape), U, JOINT_MM)
    value, u = field.at(X, Y)
    assert np.max(np.abs(value)) < 2e-3
    assert np.mean(np.abs(value) < 2.0 * u) > 0.85


@pytest.mark.parametrize("jump", [0.02, -0.05, 0.3])
def test_odd_points_are_marked_and_move_nothing(jump: float) -> None:
    """A loose fret: every lane of fret 9 stands elsewhere; and one lone top."""
    extra = np.zeros(X.shape)
    extra[8] = jump
    extra[15, 2] = -jump
    field = fit(4, extra)
    marked = np.zeros(X.shape, dtype=bool)
    marked[8] = True
    marked[15, 2] = True
    assert field.odd[marked].all()
    assert np.count_nonzero(field.odd & ~marked) <= 2
    off = field.at(X, Y)[0] - bend(X, Y)
    assert np.std(off) < 1.5e-3


def test_missing_points_are_left_out_and_never_odd() -> None:
    extra = np.zeros(X.shape)
    extra[::4] = np.nan
    field = fit(5, extra)
    assert not field.odd[::4].any()
    off = field.at(X, Y)[0] - bend(X, Y)
    assert np.std(np.delete(off, slice(None, None, 4), axis=0)) < 1e-3


def test_scatter_says_when_points_lie_wider_than_they_claim() -> None:
    rng = np.random.default_rng(6)
    wide = fit_movement(X, Y, bend(X, Y) + rng.normal(0.0, 3.6e-3, X.shape), U, JOINT_MM)
    assert wide.scatter == pytest.approx(3.0, rel=0.25)
    assert fit(6).scatter == pytest.approx(1.0, abs=0.3)
    assert np.median(wide.at(X, Y)[1]) > 1.5 * np.median(fit(6).at(X, Y)[1])


def test_one_lane_tells_no_turn_but_the_bow() -> None:
    x, y = X[:, 2], Y[:, 2]
    rng = np.random.default_rng(7)
    field = fit_movement(
        x, y, bend(x, y) + rng.normal(0.0, 1e-3, x.shape), np.full(22, 1e-3), JOINT_MM
    )
    assert np.max(np.abs(field.at(x, y)[0] - bend(x, y))) < 4e-3


def test_too_few_points_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 8 points"):
        fit_movement(X[:7, 0], Y[:7, 0], np.zeros(7), np.ones(7), JOINT_MM)
