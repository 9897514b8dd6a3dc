"""The neck's real surface, in its own frame: what a point of no size would touch."""

from __future__ import annotations

import numpy as np

from sim.crown import Crowns, IntArray
from sim.instrument import FloatArray
from sim.scenario import Scenario
from sim.shape import NeckShape, State

NOTHING_MM = -60.0
"""Height where there is nothing in reach of the sensor."""

_SLOT_MM = 2.0
"""Half the stretch of wood that sets how a fret leans."""
NUT_LENGTH_MM = 5.5
NUT_OVER_BOARD_MM = 2.1


class Neck:
    """One instrument in one state: rod_turns to the right of how it came, removed_mm so far."""

    def __init__(
        self, scenario: Scenario, state: State, rod_turns: float, removed_mm: FloatArray
    ) -> None:
        self._made = scenario.instrument
        self._ripple = scenario.wood.ripple
        self._dirt = scenario.wood.dirt
        self.shape = NeckShape(scenario, state, rod_turns)
        self.fret_x_mm = scenario.frets.x_mm
        self.string_y_mm = self._made.string_y_mm(self.fret_x_mm)
        self.crowns = Crowns(scenario.frets, self.string_y_mm, removed_mm)

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """z at the points (x, y), both float[n]; NOTHING_MM off the neck."""
        z = self.board_mm(x_mm, y_mm) + self._specks_mm(x_mm, y_mm)
        fret = self._nearest_fret(x_mm)
        near = np.flatnonzero(np.abs(x_mm - self.fret_x_mm[fret]) < 1.5)
        z[near] = np.maximum(z[near], self._crown_mm(fret[near], x_mm[near], y_mm[near]))
        z = np.where(x_mm < 0.0, z + NUT_OVER_BOARD_MM, z)
        return np.where(self._on_neck(x_mm, y_mm), z, NOTHING_MM)

    def board_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """The clean board: an arc across, bow, twist and ripple."""
        radius = self._made.radius_mm(x_mm)
        arc = np.sqrt(radius**2 - y_mm**2) - radius
        bent = self.shape.centre_mm(x_mm) + self.shape.across(x_mm) * y_mm
        return np.asarray(arc + bent + self._ripple_mm(x_mm, y_mm), dtype=float)

    def top_mm(self, fret: IntArray, y_mm: FloatArray) -> FloatArray:
        """Fret tops at y, fret counting from 0; float[n].

        The highest point, which a crown on a sloping board has beside its middle.
        """
        rise = self.crowns.rise_mm(fret, y_mm, self._slope(fret, y_mm))
        return self._middle_mm(fret, y_mm) + rise

    def tops_under_strings_mm(self) -> FloatArray:
        """float[frets, strings]: the highest point of each crown along each string.

        A string's lane crosses a fret at under a degree, which moves its highest point by
        less than a nanometre of height from the point right under the string.
        """
        frets, strings = self.string_y_mm.shape
        fret = np.repeat(np.arange(frets), strings)
        return self.top_mm(fret, self.string_y_mm.ravel()).reshape(frets, strings)

    def _crown_mm(self, fret: IntArray, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        along = x_mm - self.fret_x_mm[fret]
        upright = self._middle_mm(fret, y_mm) - self.crowns.below_top_mm(fret, along, y_mm)
        return upright + self._slope(fret, y_mm) * along

    def _middle_mm(self, fret: IntArray, y_mm: FloatArray) -> FloatArray:
        """Over the middle of each crown."""
        over_board = self.crowns.top_over_board_mm(fret, y_mm)
        return self.board_mm(self.fret_x_mm[fret], y_mm) + over_board

    def _slope(self, fret: IntArray, y_mm: FloatArray) -> FloatArray:
        """dz/dx of the wood a fret sits in: it stands square to its slot, and leans with it."""
        x_mm = self.fret_x_mm[fret]
        ends = [self.board_mm(x_mm + away, y_mm) for away in (-_SLOT_MM, _SLOT_MM)]
        return np.asarray((ends[1] - ends[0]) / (2.0 * _SLOT_MM), dtype=float)

    def _nearest_fret(self, x_mm: FloatArray) -> IntArray:
        between = 0.5 * (self.fret_x_mm[1:] + self.fret_x_mm[:-1])
        return np.searchsorted(between, x_mm)

    def _on_neck(
        self, x_mm: FloatArray, y_mm: FloatArray
    ) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        along = (x_mm >= -NUT_LENGTH_MM) & (x_mm <= self._made.board_end_x_mm)
        return np.asarray(along & (np.abs(y_mm) <= self._made.half_width_mm(x_mm)))

    def _ripple_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        z = np.zeros_like(x_mm)
        waves = self._ripple
        for wave in range(len(waves.length_mm)):
            turn = 2.0 * np.pi * x_mm / waves.length_mm[wave]
            skewed = turn + waves.phase_rad[wave] + waves.skew_rad_per_mm[wave] * y_mm
            z += waves.amplitude_mm[wave] * np.sin(skewed)
        return z

    def _specks_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        z = np.zeros_like(x_mm)
        dirt = self._dirt
        order = np.argsort(x_mm, kind="stable")
        first = np.searchsorted(x_mm, dirt.x_mm - 5.0 * dirt.sigma_mm, sorter=order)
        last = np.searchsorted(x_mm, dirt.x_mm + 5.0 * dirt.sigma_mm, sorter=order)
        for speck in np.flatnonzero(last > first).tolist():
            near, sigma = order[first[speck] : last[speck]], dirt.sigma_mm[speck]
            away2 = (x_mm[near] - dirt.x_mm[speck]) ** 2 + (y_mm[near] - dirt.y_mm[speck]) ** 2
            z[near] += dirt.height_mm[speck] * np.exp(-0.5 * away2 / sigma**2)
        return z
