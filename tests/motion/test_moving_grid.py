"""The string on a grid: its order, what it keeps, and the modal string beside it."""

from __future__ import annotations

import numpy as np
import pytest

from . import grid, modal
from .grid import Grid
from .wires import Array, Wires, wires

LENGTH = np.array([0.650])


def plain_g() -> Wires:
    one = np.ones(1)
    return wires(1.14954192e-3 * one, 74.6300184 * one, 0.4318 * one, np.array([False]))


def hz(cells: int, clamped: bool = False) -> Array:
    """Frequencies of the grid itself: eigenvalues of its pull."""
    made = Grid(plain_g(), LENGTH, cells, clamped)
    inside = np.eye(cells + 1)[1:-1]
    pull = np.stack([made.pull(one[None, :])[0] for one in inside])
    values = np.linalg.eigvals(-pull / plain_g().mass[0])
    return np.asarray(np.sqrt(np.sort(values.real)) / (2.0 * np.pi))


def test_partials_of_the_grid_come_second_order_to_the_formula() -> None:
    """CHECKS 8.1: 196.00819, 981.2964, 1970.419 Hz."""
    formula = np.array([196.00819, 981.2964, 1970.419])
    coarse, fine = (np.abs(hz(cells)[[0, 4, 9]] - formula) for cells in (60, 120))
    np.testing.assert_allclose(coarse[1:] / fine[1:], 4.0, rtol=0.02)
    assert np.all(fine / formula < 3e-3)


def test_clamped_ends_are_sharper() -> None:
    """f1 (1 + 2/pi sqrt(B) + 4/pi^2 B), Fletcher & Rossing, ch. 2 (formula from memory).

    The length over which a clamped end bends, sqrt(EI/T) = 2 mm, wants some cells.
    """
    b = 1.06829189e-4
    sharp = hz(600, clamped=True)[0] / 195.997718
    assert sharp == pytest.approx(1.0 + 2.0 / np.pi * np.sqrt(b) + 4.0 / np.pi**2 * b, rel=2e-4)


def test_energy_is_kept_without_damping_and_lost_with_it() -> None:
    start = Grid(plain_g(), LENGTH).pulled(np.array([0.52]))
    swings = np.array([0.05])
    kept = Grid(plain_g(), LENGTH, damped=False).run(start, swings)[2]
    np.testing.assert_allclose(kept / kept[0], 1.0, rtol=1e-9)
    lost = Grid(plain_g(), LENGTH).run(start, swings)[2]
    assert lost[-1] < 0.97 * lost[0]


def test_pulled_string_is_the_static_triangle() -> None:
    """Work of 1 N: the corner rises p (l - p) / (T l), the stiffness rounding it a little."""
    start = Grid(plain_g(), LENGTH).pulled(np.array([0.52]))
    corner = 0.52 * 0.13 / (74.63 * 0.65)
    assert 0.95 * corner < start.max() < corner
    assert start[0, 40] == pytest.approx(corner * 0.25, rel=1e-3)


def test_steps_come_second_order_to_the_exact_motion() -> None:
    """A smooth start, two partials together, undamped, after most of a swing."""

    def off(cells: int) -> float:
        made = Grid(plain_g(), LENGTH, cells, damped=False)
        x = np.arange(cells + 1) / cells
        start = 1e-3 * (np.sin(np.pi * x) + 0.3 * np.sin(3.0 * np.pi * x))[None, :]
        steps = round(0.004 / float(made.dt[0]))
        reached = steps * made.dt
        low, _, _ = made.run(start, reached * (1.0 - 1e-9))
        w = modal.frequencies(plain_g(), LENGTH, 3)[0]
        t = np.linspace(0.0, float(reached[0]), 4000)
        parts = 1e-3 * np.array([np.sin(np.pi * x), 0.3 * np.sin(3.0 * np.pi * x)])
        exact = parts.T @ np.cos(np.outer(w[[0, 2]], t))
        return float(np.max(np.abs(low[0] - exact.min(axis=1))))

    assert off(40) / off(80) == pytest.approx(4.0, rel=0.35)
    assert off(80) < 2e-6


@pytest.mark.parametrize("swings", [1.0, 4.0])
def test_grid_and_partials_tell_one_story(swings: float) -> None:
    """Dips of about a millimetre to some micrometres: the grid is that coarse."""
    at = np.linspace(0.03, 0.4, 9)[None, :]
    length, pluck = np.array([0.570]), np.array([0.450])
    newton = 1e-3 * 74.63 * 0.570 / (0.450 * 0.120)
    by_partials = modal.dips(plain_g(), length, pluck, at, swings=swings)
    by_grid = grid.dips(plain_g(), length, pluck, at, swings=swings, cells=240)
    ideal_like = modal.dips(plain_g().softened(), length, pluck, at, swings=swings)
    for one, other in zip(by_partials, by_grid, strict=True):
        np.testing.assert_allclose(newton * one, newton * other, atol=5e-6)
    # and they are nearer to one another than either is to a string that does not bend
    assert np.max(np.abs(newton * (by_partials[0] - ideal_like[0]))) > 2e-5
