"""A straightedge, which is not straight: its own shape, and the three ways it can be laid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sim.instrument import FloatArray

LENGTH_MM = 570.0
HALF_WIDTH_MM = 30.0
Turned = Literal["no", "over", "ends"]


@dataclass(frozen=True, slots=True)
class EdgeShape:
    """A bow and four slow waves, less their best line. Share runs from -1 to 1 end to end."""

    bow_mm: float
    wave_mm: FloatArray
    wave_phase_rad: FloatArray
    line: FloatArray

    def shape_mm(self, along_mm: FloatArray, turned: Turned = "no") -> FloatArray:
        """What a reading along it shows of its shape.

        over: turned about its long axis and read on its other side from there, so that its own
            error changes sign and the rail's keeps it.
        ends: end for end.
        """
        share = 2.0 * along_mm / LENGTH_MM - 1.0
        if turned == "over":
            return -self._at(share)
        return self._at(-share if turned == "ends" else share)

    def _at(self, share: FloatArray) -> FloatArray:
        return np.asarray(self._bent(share) - np.polyval(self.line, share), dtype=float)

    def _bent(self, share: FloatArray) -> FloatArray:
        z = self.bow_mm * share**2
        for wave in range(len(self.wave_mm)):
            turn = np.pi * (wave + 1) * share + self.wave_phase_rad[wave]
            z = z + self.wave_mm[wave] * np.sin(turn)
        return np.asarray(z, dtype=float)


def draw_straightedge(seed: int, rms_um: float) -> EdgeShape:
    """Of this rms about its best line, most of it long."""
    rng = np.random.default_rng([seed, 6])
    drawn = EdgeShape(
        bow_mm=float(rng.choice([-1.0, 1.0]) * rng.uniform(1.0, 2.0)),
        wave_mm=rng.normal(0.0, 0.6, 4) / np.arange(1.0, 5.0),
        wave_phase_rad=rng.uniform(0.0, 2.0 * np.pi, 4),
        line=np.zeros(2),
    )
    share = np.linspace(-1.0, 1.0, 2001)
    raw = drawn.shape_mm(0.5 * LENGTH_MM * (share + 1.0))
    line = np.polyfit(share, raw, 1)
    size = 1e-3 * rms_um / float(np.std(raw - np.polyval(line, share)))
    return EdgeShape(size * drawn.bow_mm, size * drawn.wave_mm, drawn.wave_phase_rad, size * line)
