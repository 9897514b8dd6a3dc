"""The job's datum frame: the plane fitted to the board at its nut and body-joint ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.neck import Neck

#: An end of the board is read in so many gaps.
GAPS = 2


@dataclass(frozen=True, slots=True)
class Plane:
    """z = offset + along x + across y, in mm and mm/mm; covariance: float[3, 3] of the three.

    remark: what somebody should know of it, empty where both ends were seen.
    """

    offset_mm: float
    along: float
    across: float
    covariance: FloatArray
    remark: str = ""

    def at(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return self.offset_mm + self.along * x_mm + self.across * y_mm

    def u_at(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Standard uncertainty of the plane's height, mm, shaped like x_mm."""
        row = np.stack([np.ones_like(x_mm), x_mm, y_mm], axis=-1)
        return np.asarray(np.sqrt(np.einsum("...i,ij,...j->...", row, self.covariance, row)))


def datum_plane(neck: Neck, instrument: Instrument) -> Plane:
    """Least squares through the board in the two gaps at each end of the neck proper.

    The ends are the gaps before frets 1 and 2 and those before the body-joint fret and the
    one under it. Where an end shows no board, the seen gaps nearest to it stand in, and the
    plane's remark says so: shapes do not depend on the datum, heights in it do.
    """
    joint = instrument.body_joint_fret
    seen = np.flatnonzero(np.isfinite(neck.board_mm[:joint]).any(axis=1))
    if seen.size < 2:
        return _no_plane(neck, joint)
    half = min(GAPS, seen.size // 2)
    near, far = seen[:half], seen[-half:]
    plane = _through(neck, np.concatenate([near, far]))
    missed = [
        f"before frets {gap + 1} and {gap + 2}"
        for gap, end in ((0, near), (joint - GAPS, far))
        if not np.any((end >= gap) & (end < gap + GAPS))
    ]
    if not missed:
        return plane
    return Plane(
        plane.offset_mm,
        plane.along,
        plane.across,
        plane.covariance,
        f"no lane saw the board {' nor '.join(missed)}: the datum plane lies on the board before "
        f"frets {near[0] + 1} and {far[-1] + 1} instead; scan the whole neck",
    )


def _through(neck: Neck, gaps: FloatArray) -> Plane:
    x, y, z = neck.gap_x_mm[gaps], gap_y_mm(neck)[gaps], neck.board_mm[gaps]
    good = np.isfinite(z)
    design = np.stack([np.ones(int(good.sum())), x[good], y[good]], axis=1)
    inverse = np.linalg.pinv(design)
    fit = inverse @ z[good]
    carried = inverse * neck.u_board_mm[gaps][good]
    return Plane(float(fit[0]), float(fit[1]), float(fit[2]), carried @ carried.T)


def _no_plane(neck: Neck, joint: int) -> Plane:
    """Level, through the middle of the tops: their shapes can still be read."""
    level = float(np.nanmean(neck.top_mm)) if np.isfinite(neck.top_mm).any() else 0.0
    unknown = np.diag([np.nan] * 3)
    return Plane(
        level, 0.0, 0.0, unknown,
        f"the board was seen in fewer than two gaps before fret {joint}: there is no datum "
        "plane, heights count from the mean fret top; scan the whole neck",
    )  # fmt: skip


def gap_y_mm(neck: Neck) -> FloatArray:
    """Where the lanes cross the gaps, [frets, lanes]: they run straight along the strings."""
    x = neck.x_mm - neck.x_mm.mean(axis=0)
    slope = np.sum(x * neck.y_mm, axis=0) / np.sum(x * x, axis=0)
    off = neck.gap_x_mm - neck.x_mm.mean(axis=0)
    return np.asarray(neck.y_mm.mean(axis=0) + slope * off)
