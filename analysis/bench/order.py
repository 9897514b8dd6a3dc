"""The order of the work with the file, and what a short straightedge shows after each fret.

From the nut to the body, a fret at a time, all its strings at once, never coming back. Why so:
a string fretted at n must clear the frets beyond n, so a slip at n asks something of the frets
beyond it alone, and those have not been filed yet; a plan made again from there needs no
finished fret touched. It is checked from the next two frets towards the body, which no file
has been at: a slip never gets into a later check. Deepest first, or from the body to the nut,
has neither.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.bench.setting import BeamSetting
from analysis.instrument import FloatArray

#: Less than this is not worth a stroke of the file, µm (own choice).
WORTH_UM = 2.0
#: What to mean to take and what is then likely to come off, both for what is wanted, µm.
Hand = Callable[[FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True, slots=True)
class FileStep:
    """One fret for the file; arrays are [strings].

    take_um: what is still to come off, 0 where nothing; aim_um: what to mean to take for it;
    remains_um: what is then likely to stand above the plan still. height_after_mm: of the fret
    over the board; u_height_mm: as measured before. feet: two frets beside it, the nearer
    first; a straightedge laid over the three, on the neck as the bench has bent it, then shows
    a gap: gap_um, under the nearer of the two where positive, under this fret where negative.
    u_gap_um leaves the cut's own scatter out. NaN where a top was not seen.
    """

    fret: int
    take_um: FloatArray
    aim_um: FloatArray
    remains_um: FloatArray
    height_after_mm: FloatArray
    u_height_mm: FloatArray
    feet: tuple[int, int]
    gap_um: FloatArray
    u_gap_um: FloatArray


def file_steps(
    beam: BeamSetting,
    remove_mm: FloatArray,
    height_after_mm: FloatArray,
    u_height_mm: FloatArray,
    x_mm: FloatArray,
    u_top_mm: FloatArray,
    hand: Hand,
) -> tuple[FileStep, ...]:
    """What the beam leaves, in the order to file it. All arrays [frets, strings].

    Where a top was not seen the beam is not counted on. A fret under which nowhere WORTH_UM is
    left has no step.
    """
    take = np.where(np.isfinite(beam.left_um), beam.left_um, 1e3 * remove_mm)
    take = np.where(take >= WORTH_UM, take, 0.0)
    aim, off = hand(take)
    remains = np.where(take > 0, np.clip(take - off, 0.0, None), 0.0)
    stands = _stands_mm(beam, take, remains)
    steps = []
    for fret in np.flatnonzero(take.any(axis=1)).tolist():
        feet = _feet(fret, take.shape[0])
        three = [fret, *feet]
        weights = _weights(x_mm[three])
        z = np.array([stands[1][fret], *stands[0 if feet[0] > fret else 1][list(feet)]])
        gap, u = weights * z, weights * u_top_mm[three]
        under = np.sum(gap[0], axis=0) > 0
        steps.append(
            FileStep(
                fret + 1,
                take[fret],
                aim[fret],
                remains[fret],
                height_after_mm[fret] + 1e-3 * remains[fret],
                u_height_mm[fret],
                (feet[0] + 1, feet[1] + 1),
                1e3 * np.where(under, np.sum(gap[1], axis=0), np.sum(gap[0], axis=0)),
                1e3 * np.sqrt(np.sum(np.where(under, u[1], u[0]) ** 2, axis=0)),
            )
        )
    return tuple(steps)


def _feet(fret: int, frets: int) -> tuple[int, int]:
    """The next two frets towards the body; at its end the two before, the nearest first."""
    return (fret + 1, fret + 2) if fret + 2 < frets else (fret - 1, fret - 2)


def _weights(x_mm: FloatArray) -> FloatArray:
    """Of the three heights in a gap, [2, 3, strings]: the first over the line through the other
    two, and the line through the outer two over the one between. They agree in sign."""
    near, far = x_mm[1] - x_mm[0], x_mm[2] - x_mm[1]
    one = np.ones_like(near)
    share = near / (near + far)
    over = (one, -(one + near / far), near / far)
    return np.array([over, (one - share, -one, share)])


def _stands_mm(
    beam: BeamSetting, take_um: FloatArray, remains_um: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The bent tops after the beam, and after the file as well."""
    after_beam = beam.tops_mm - 1e-3 * beam.taken_um
    return after_beam, after_beam - 1e-3 * np.where(take_um > 0, take_um - remains_um, 0.0)
