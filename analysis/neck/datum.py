"""The job's datum frame: the plane fitted to the board at its nut and body-joint ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.neck import Neck


@dataclass(frozen=True, slots=True)
class Plane:
    """z = offset + along x + across y, in mm and mm/mm; covariance: float[3, 3] of the three."""

    offset_mm: float
    along: float
    across: float
    covariance: FloatArray

    def at(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return self.offset_mm + self.along * x_mm + self.across * y_mm

    def u_at(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Standard uncertainty of the plane's height, mm, shaped like x_mm."""
        row = np.stack([np.ones_like(x_mm), x_mm, y_mm], axis=-1)
        return np.asarray(np.sqrt(np.einsum("...i,ij,...j->...", row, self.covariance, row)))


def datum_plane(neck: Neck, instrument: Instrument) -> Plane:
    """Least squares through the board in the two gaps at each end of the neck proper.

    The ends are the gaps before frets 1 and 2 and those before the body-joint fret and the
    one under it.
    """
    joint = instrument.body_joint_fret
    gaps = np.array([0, 1, joint - 2, joint - 1])
    x = neck.gap_x_mm[gaps]
    y = np.stack(
        [
            np.interp(neck.gap_x_mm[gaps, i], neck.x_mm[:, i], neck.y_mm[:, i])
            for i in range(neck.string.size)
        ],
        axis=1,
    )
    z = neck.board_mm[gaps]
    good = np.isfinite(z)
    design = np.stack([np.ones(int(good.sum())), x[good], y[good]], axis=1)
    inverse = np.linalg.pinv(design)
    fit = inverse @ z[good]
    carried = inverse * neck.u_board_mm[gaps][good]
    return Plane(float(fit[0]), float(fit[1]), float(fit[2]), carried @ carried.T)
