"""The same string stepped through time on a grid: nothing of the partials is used.

Centred differences of second order in x and t, explicit ("leapfrog"); u_xxxx as the second
difference of the second difference; the part of the damping that grows with frequency by how the
second difference changed over the last step (first order in t, and light). Stable while dx^2 is
at least (C + sqrt(C^2 + 16 k^2 dt^2)) / 2, C = c^2 dt^2 + 4 s1 dt (von Neumann's bound for
c^2 u_xx - k^2 u_xxxx): the step in time is the longest that keeps it.
Ends pinned (u = u_xx = 0: the ghost point beyond is turned over) or clamped (u = u_x = 0: it is
mirrored). A string over a fret with a finger behind it is in between.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .wires import DECAY_M2_PER_S, DECAY_PER_S, Array, Wires


@dataclass(frozen=True)
class Grid:
    """[strings] grids of cells each, so fine in time as stability wants. damped: else none."""

    wire: Wires
    length: Array
    cells: int = 200
    clamped: bool = False
    damped: bool = True

    @property
    def dx(self) -> Array:
        return np.asarray(self.length / self.cells)

    @property
    def s1(self) -> float:
        return DECAY_M2_PER_S if self.damped else 0.0

    @property
    def dt(self) -> Array:
        """The longest stable step, from von Neumann's bound: dx^4 = C dx^2 + 4 k^2 dt^2."""
        c2, k2 = self.wire.tension / self.wire.mass, self.wire.bending / self.wire.mass
        # c2 dt^2 + 4 s1 dt + 4 k2 dt^2 / dx^2 = dx^2
        a, b = c2 + 4.0 * k2 / self.dx**2, 4.0 * self.s1
        return np.asarray((np.sqrt(b**2 + 4.0 * a * self.dx**2) - b) / (2.0 * a))

    def second(self, u: Array) -> Array:
        """u_xx inside, [strings, cells - 1], of u [strings, cells + 1]."""
        return np.asarray((u[:, 2:] - 2.0 * u[:, 1:-1] + u[:, :-2]) / self.dx[:, None] ** 2)

    def fourth(self, u: Array) -> Array:
        """u_xxxx inside."""
        bend = np.zeros_like(u)
        bend[:, 1:-1] = self.second(u)
        if self.clamped:
            # ghost mirrored: u_-1 = u_1, so u_xx at the end is 2 u_1 / dx^2
            bend[:, 0], bend[:, -1] = 2.0 * u[:, 1], 2.0 * u[:, -2]
            bend[:, [0, -1]] /= self.dx[:, None] ** 2
        return self.second(bend)

    def pull(self, u: Array) -> Array:
        """Force per length, N/m, inside."""
        tension, bending = self.wire.tension[:, None], self.wire.bending[:, None]
        return np.asarray(tension * self.second(u) - bending * self.fourth(u))

    def pulled(self, at: Array) -> Array:
        """The string at rest under one newton at `at`, shared by the two points beside it."""
        inside = self.cells - 1
        load = np.zeros((self.length.size, self.cells + 1))
        cell = np.clip((at / self.dx).astype(int), 0, inside)
        share = at / self.dx - cell
        rows = np.arange(self.length.size)
        load[rows, cell] += (1.0 - share) / self.dx
        load[rows, cell + 1] += share / self.dx
        matrix = np.zeros((self.length.size, inside, inside))
        for k in range(inside):
            one = np.zeros((self.length.size, self.cells + 1))
            one[:, k + 1] = 1.0
            matrix[:, :, k] = -self.pull(one)
        out = np.zeros_like(load)
        out[:, 1:-1] = np.linalg.solve(matrix, load[:, 1:-1, None])[:, :, 0]
        return out

    def energy(self, before: Array, u: Array) -> Array:
        """What leapfrog keeps: (m/2)|du/dt|^2 + (1/2) <u, -pull(before)>, J."""
        speed = (u - before)[:, 1:-1] / self.dt[:, None]
        moving = 0.5 * self.wire.mass[:, None] * speed**2
        bent = -0.5 * u[:, 1:-1] * self.pull(before)
        return np.asarray(np.sum(moving + bent, axis=1) * self.dx)

    def run(self, start: Array, until_s: Array) -> tuple[Array, Array, Array]:
        """(lowest, highest, energies): u up to a moment a string, [strings, cells + 1], [steps].

        From rest: the first step is half of the acceleration's.
        """
        steps = np.ceil(until_s / self.dt).astype(int)
        mass, dt = self.wire.mass[:, None], self.dt[:, None]
        s0 = DECAY_PER_S if self.damped else 0.0
        before, u = start.copy(), start.copy()
        u[:, 1:-1] += 0.5 * dt**2 * self.pull(start) / mass
        low, high = np.minimum(start, u), np.maximum(start, u)
        energies = [self.energy(before, u)]
        for step in range(2, int(steps.max()) + 1):
            after = np.zeros_like(u)
            force = self.pull(u) / mass + 2.0 * self.s1 * self.second(u - before) / dt
            after[:, 1:-1] = (
                2.0 * u[:, 1:-1] - (1.0 - s0 * dt) * before[:, 1:-1] + dt**2 * force
            ) / (1.0 + s0 * dt)
            before, u = u, after
            going = (step <= steps)[:, None]
            np.minimum(low, u, out=low, where=going)
            np.maximum(high, u, out=high, where=going)
            energies.append(self.energy(before, u))
        return low, high, np.array(energies)


def dips(
    wire: Wires, length: Array, pluck: Array, at: Array, swings: float = 2.0, **how: bool | int
) -> tuple[Array, Array]:
    """As `modal.dips`: how far a string comes down per newton, pulled up and pushed down first."""
    grid = Grid(wire, length, **how)  # type: ignore[arg-type]
    period = 2.0 * length / np.sqrt(wire.tension / wire.mass)
    low, high, _ = grid.run(grid.pulled(pluck), swings * period)
    x = np.arange(grid.cells + 1) * grid.dx[:, None]

    def there(u: Array) -> Array:
        return np.array([np.interp(at[k], x[k], u[k]) for k in range(length.size)])

    return -there(low), there(high)
