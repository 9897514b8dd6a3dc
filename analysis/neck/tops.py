"""Fret tops along the strings' fan, from the lanes of one scan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.board.arc import sagitta_mm
from analysis.crowns.fit import WORST_MISFIT
from analysis.instrument import FloatArray, Instrument
from analysis.neck.neck import Neck
from analysis.neck.terms import Terms, stacked

#: What a dent under a string may hide from the lanes beside it, mm (common practice, no source).
UNSEEN_WEAR_MM = 0.02
#: A lane further than this from the string does not show what lies under it.
FURTHEST_LANE_MM = 1.5
#: A top whose passes both ways disagree by more deviations than this is doubtful.
WAYS_SIGMAS = 6.0

#: The status of a fret no pass over its lane went to.
OUTSIDE = "outside the scan"


@dataclass(frozen=True, slots=True)
class Tops:
    """Tops along some lines in the rig's frame, [frets, lines]; `terms` make their u."""

    x_mm: FloatArray
    y_mm: FloatArray
    z_mm: FloatArray
    terms: Terms
    height_mm: FloatArray
    u_height_mm: FloatArray
    flat_mm: FloatArray
    status: NDArray[np.str_]

    @property
    def u_mm(self) -> FloatArray:
        """Standard uncertainty of z_mm."""
        return self.terms.u_mm


def tops_along(neck: Neck, instrument: Instrument, strings: FloatArray) -> Tops:
    """Tops along lines of the strings' fan; 2.5 is midway between strings 2 and 3.

    A line with a lane shows its own; one without is inferred from the lanes beside it.
    """
    frets = np.arange(1, instrument.frets + 1, dtype=float)
    columns = []
    for string in strings:
        x = instrument.fret_x_mm(frets, string)
        y = instrument.string_y_mm(string, x)
        lane = np.flatnonzero(neck.string == string)
        if lane.size == 0 or _furthest_mm(neck, int(lane[0]), y) > FURTHEST_LANE_MM:
            columns.append(_beside(neck, x, y))
        else:
            columns.append(_on_lane(neck, int(lane[0]), x, y))

    def beside_one_another(name: str) -> FloatArray:
        return np.stack([getattr(column, name) for column in columns], axis=1)

    return Tops(
        beside_one_another("x_mm"),
        beside_one_another("y_mm"),
        beside_one_another("z_mm"),
        stacked([column.terms for column in columns]),
        beside_one_another("height_mm"),
        beside_one_another("u_height_mm"),
        beside_one_another("flat_mm"),
        np.stack([column.status for column in columns], axis=1),
    )


def _furthest_mm(neck: Neck, k: int, y: FloatArray) -> float:
    """How far a lane strays from a line across, where it went. y: float[frets]."""
    off = np.abs(neck.y_mm[:, k] - y)[neck.registration.covered[:, k]]
    return float(np.max(off, initial=0.0))


def _on_lane(neck: Neck, k: int, x: FloatArray, y: FloatArray) -> Tops:
    """A lane lies there: its own tops, moved along the arc from the lane to the string.

    The nut is never quite where the file says, so that the lanes' fan is a little off the
    strings'; a twentieth of a millimetre across is worth some micrometres at the outer strings.
    Where the passes both ways disagree, u grows with it.
    """
    across = y - neck.y_mm[:, k]
    z = neck.top_mm[:, k] + across * neck.arc.slope(x, 0.5 * (y + neck.y_mm[:, k]))
    limit = WAYS_SIGMAS * np.sqrt(8.0) * 1e3 * np.maximum(neck.u_top_mm[:, k], 5e-4)
    doubtful = np.abs(neck.ways_um[:, k]) > limit
    ways = np.where(doubtful, 5e-4 * np.abs(neck.ways_um[:, k]), 0.0)
    place = neck.registration.u_nut_mm * np.abs(np.gradient(y, x) * neck.arc.slope(x, y))
    unseen = np.where(
        neck.registration.covered[:, k], "not seen: no crown, or too few readings", OUTSIDE
    )
    status = np.where(np.isfinite(neck.top_mm[:, k]), "ok", unseen)
    status = np.where(
        neck.misfit[:, k] > WORST_MISFIT, "doubtful: the crown's shape fits none", status
    )
    return Tops(
        x,
        y,
        z,
        neck.terms.each(lambda part: part[:, k]).also(
            rail=neck.u_rail_mm[:, k], place=place, ways=ways
        ),
        neck.height_mm[:, k],
        neck.u_height_mm[:, k],
        neck.flat_mm[:, k],
        np.where(doubtful, "doubtful: the two ways disagree", status),
    )


def _beside(neck: Neck, x: FloatArray, y: FloatArray) -> Tops:
    """From the lanes on both sides: straight between them once the board's arc is taken off."""
    drop = sagitta_mm(neck.arc.radius_mm(neck.x_mm), neck.y_mm)
    own_drop = sagitta_mm(neck.arc.radius_mm(x), y)
    weight = np.full(neck.top_mm.shape, np.nan)
    for fret in range(x.size):
        seen = np.isfinite(neck.top_mm[fret])
        if np.count_nonzero(seen) < 2:
            continue
        near = np.argsort(np.where(seen, np.abs(neck.y_mm[fret] - y[fret]), np.inf))[:2]
        weight[fret] = 0.0
        weight[fret, near] = _two_point(neck.y_mm[fret, near], float(y[fret]))

    def weighted(values: FloatArray) -> FloatArray:
        return np.asarray(np.sum(weight * np.where(weight == 0.0, 0.0, values), axis=1))

    z = weighted(neck.top_mm + drop) - own_drop
    terms = neck.terms.each(lambda part: np.sqrt(weighted(weight * part**2))).also(
        unseen=np.full(x.size, UNSEEN_WEAR_MM), rail=np.mean(neck.u_rail_mm, axis=1)
    )
    status = np.where(np.isfinite(z), "inferred", "not seen: no lane beside the string")
    u_height = np.hypot(terms.u_mm, 0.004)
    flat = np.full(x.size, np.nan)
    return Tops(x, y, z, terms, weighted(neck.height_mm), u_height, flat, status)


def _two_point(y: FloatArray, wanted: float) -> FloatArray:
    """Weights of the straight line through two points at a third."""
    share = (wanted - y[0]) / (y[1] - y[0])
    return np.array([1.0 - share, share])
