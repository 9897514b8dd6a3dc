"""Something left on the neck: a capo, a cloth, a tool."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from analysis.instrument import FloatArray
from analysis.pattern.cells import CELL_MM, Cells
from analysis.pattern.registration import Registration

#: What stands this far over the frets beside it is no fret, and what is narrower is a spike, mm
#: (own choice; no fret is that tall over the next, and no capo lower or thinner).
OVER_MM, WIDE_MM = 1.5, 2.0
#: The nut itself reaches no further than this towards fret 1, mm (common practice, no source).
NUT_MM = 8.0
#: Frets on each side that say how high frets are at one of them.
BESIDE = 3


def left_on(cells: Cells, places: list[FloatArray], registration: Registration) -> tuple[str, ...]:
    """A phrase where something stands on the board in most passes.

    places: each pass's fret places on the carriage.
    """
    over = np.array([_over(z, cells, p) for z, p in zip(cells.z_mm, places, strict=True)])
    over[~cells.seen] = -np.inf
    over[:, cells.x_mm < registration.nut_mm + NUT_MM] = -np.inf
    high = np.median(over, axis=0)
    stretch = _longest(high > OVER_MM)
    if stretch is None or (stretch.stop - stretch.start) * CELL_MM < WIDE_MM:
        return ()
    middle = 0.5 * (cells.x_mm[stretch.start] + cells.x_mm[stretch.stop - 1])
    fret = int(np.searchsorted(np.median(np.array(places), axis=0), middle))
    where = f"between frets {fret} and {fret + 1}" if fret else "between the nut and fret 1"
    return (
        f"something stands {float(np.max(high[stretch])):.1f} mm over the frets {where}: a capo? "
        "Take it off and scan again, it may bend the neck",
    )


def _over(z: FloatArray, cells: Cells, places: FloatArray) -> FloatArray:
    """float[cells]: height over the frets' tops about there; -inf past the last."""
    column = np.clip(((places - cells.from_mm) / CELL_MM).round().astype(int), 1, z.size - 2)
    tops = np.max(z[column[:, None] + np.arange(-1, 2)], axis=1)
    level = median_filter(tops, size=2 * BESIDE + 1, mode="nearest")
    return np.where(cells.x_mm <= places[-1], z - np.interp(cells.x_mm, places, level), -np.inf)


def _longest(yes: NDArray[np.bool_]) -> slice | None:
    """The longest run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], yes, [False]]).astype(int)))
    starts, stops = edges[::2], edges[1::2]
    if starts.size == 0:
        return None
    longest = int(np.argmax(stops - starts))
    return slice(int(starts[longest]), int(stops[longest]))
