"""Strings that would break at their pitch, that are near it, that are too slack to play."""

from __future__ import annotations

import numpy as np

from analysis.instrument import StringSpec
from analysis.strings.envelope import envelope_mm, pluck_height_mm
from analysis.strings.materials import MATERIALS
from analysis.strings.strings import StringLoad, core_mm, stress_pa

#: From this share of its strength a string is near breaking: knots, saddles and tuning past the
#: pitch take the rest (own choice).
NEAR_BREAKING = 0.8
#: A string that an everyday pluck swings further than this over fret 12, mm, is slack: no usual
#: action holds it (2.5 mm is the highest; common practice, no source).
RATTLE_MM = 2.5
#: The everyday pluck this is judged by: its force, N, and its place from the saddle as a share.
EVERYDAY_N = 0.6
EVERYDAY_SHARE = 120.0 / 641.0


def breaking_share(load: StringLoad, spec: StringSpec) -> float:
    """Stress of the core over its strength; 1 and more breaks."""
    return stress_pa(load, spec) / MATERIALS[spec.material].strength_at_pa(core_mm(spec))


def everyday_swing_mm(tension_n: float, length_mm: float) -> float:
    """How far an everyday pluck swings the open string over fret 12."""
    length, pluck_mm = np.asarray(length_mm), EVERYDAY_SHARE * length_mm
    height = pluck_height_mm(EVERYDAY_N, np.asarray(tension_n), length, pluck_mm)
    return float(envelope_mm(height, 0.5 * length, length, pluck_mm))


def least_pull_n(length_mm: float) -> float:
    """The tension at which `everyday_swing_mm`, which goes with its inverse, is RATTLE_MM."""
    return everyday_swing_mm(1.0, length_mm) / RATTLE_MM
