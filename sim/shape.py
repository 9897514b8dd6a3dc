"""How the neck bends: bow and twist over x for a state and a rod setting.

All shapes are zero at the nut and at the body joint, and run on past the joint as the body
carries them. Heights are mm up, slopes across are dz/dy.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.interpolate import CubicSpline

from sim.instrument import FloatArray
from sim.scenario import Scenario, Wood

State = Literal["strung", "unstrung"]


class NeckShape:
    """The centre line's height and the slope across it, for one state and rod setting."""

    def __init__(self, scenario: Scenario, state: State, rod_turns: float) -> None:
        joint_x_mm = scenario.instrument.joint_x_mm
        # To the saddle and a little past it, so that strings can use the same shape.
        x_mm = np.arange(-20.0, scenario.instrument.scale_mm + 20.0, 0.5)
        bend = Bend(x_mm, joint_x_mm, scenario.wood.soft_spot_phase_rad)
        loaded = 1.0 if state == "strung" else 0.0
        self._z = CubicSpline(x_mm, _centre_mm(bend, scenario.wood, loaded, rod_turns))
        self._slope = CubicSpline(x_mm, _across(bend, scenario.wood, loaded))

    def centre_mm(self, x_mm: FloatArray) -> FloatArray:
        return np.asarray(self._z(x_mm), dtype=float)

    def across(self, x_mm: FloatArray) -> FloatArray:
        """dz/dy, rad."""
        return np.asarray(self._slope(x_mm), dtype=float)


@dataclass(frozen=True, slots=True)
class Bend:
    """Beam shapes on a grid of x."""

    x_mm: FloatArray
    joint_x_mm: float
    soft_spot_phase_rad: float

    def arc(self) -> FloatArray:
        """Constant curvature from nut to joint, straight beyond; 1 deep. The rod's shape."""
        return self._dip(np.where(self._share < 1.0, 1.0, 0.0))

    def cubic(self) -> FloatArray:
        """An S from nut to joint, straight beyond; 1 deep."""
        return self._dip(np.where(self._share < 1.0, self._share - 0.5, 0.0))

    def load(self) -> FloatArray:
        """String pull: part constant moment, part a moment that grows towards the body over
        a neck that thickens and has a soft spot; the body is twelve times as stiff."""
        share = np.clip(self._share, 0.0, None)
        stiffness = (1.0 + 0.28 * share) ** 3
        uneven = 1.0 + 0.08 * np.sin(2.0 * np.pi * 1.7 * share + self.soft_spot_phase_rad)
        beyond = 1.0 / (1.0 + np.exp(-(self.x_mm - self.joint_x_mm) / 4.0))
        curvature = (0.5 + 0.5 * (1.0 + 0.9 * share) * uneven / stiffness) / (1.0 + 11.0 * beyond)
        return self._dip(curvature)

    def torsion(self) -> FloatArray:
        """-1 at the nut, 0 at the joint and beyond, steeper where the neck is thin."""
        share = np.clip(self._share, 0.0, 1.0)
        return np.asarray(((1.0 + 0.28 * share) ** -3 - 1.28**-3) / (1.28**-3 - 1.0), dtype=float)

    @property
    def _share(self) -> FloatArray:
        return self.x_mm / self.joint_x_mm

    def _dip(self, curvature: FloatArray) -> FloatArray:
        """Twice integrated, set to zero at nut and joint, scaled to 1 at its deepest."""
        curvature = np.where(self.x_mm < 0.0, 0.0, curvature)
        slope = cumulative_trapezoid(curvature, self.x_mm, initial=0)
        z = cumulative_trapezoid(slope, self.x_mm, initial=0)
        at_nut, at_joint = np.interp([0.0, self.joint_x_mm], self.x_mm, z)
        z = z - at_nut - (at_joint - at_nut) * self._share
        between = (self.x_mm > 0.0) & (self.x_mm < self.joint_x_mm)
        return np.asarray(z / np.max(np.abs(z[between])), dtype=float)


def _centre_mm(bend: Bend, wood: Wood, loaded: float, rod_turns: float) -> FloatArray:
    return np.asarray(
        (wood.relief_unstrung_mm - wood.rod_mm_per_turn * rod_turns) * bend.arc()
        + wood.s_shape_mm * bend.cubic()
        + loaded * wood.relief_from_load_mm * bend.load()
        + _built_in_mm(bend, wood),
        dtype=float,
    )


def _built_in_mm(bend: Bend, wood: Wood) -> FloatArray:
    """The hump where the neck meets the body, and the board falling away past it."""
    past_mm = bend.x_mm - bend.joint_x_mm
    hump = wood.hump_mm * np.exp(-0.5 * ((past_mm - 4.0) / wood.hump_sigma_mm) ** 2)
    softly_past_mm = 5.0 * np.logaddexp(0.0, past_mm / 5.0)
    return np.asarray(hump - 1e-3 * wood.fall_away_mrad * softly_past_mm, dtype=float)


def _across(bend: Bend, wood: Wood, loaded: float) -> FloatArray:
    twist_mrad = wood.twist_unstrung_mrad + loaded * wood.twist_from_load_mrad
    # The load's dip is -1 at its deepest: less of it here lifts the treble, sinks the bass.
    return 1e-3 * twist_mrad * bend.torsion() - loaded * wood.bass_extra_rad * bend.load()
