"""Lanes that lie off the board, by what they read or by where they were laid."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument
from analysis.pattern.cells import CELL_MM, Cells
from analysis.pattern.lanes import lane_words
from analysis.pattern.registration import Registration
from calibration.profile import Profile

#: Readings this far under a lane's own board are off it; no board bows so far from straight, mm.
FALLEN_MM = 2.0
#: What an outer lane lies lower by than the middle one, for the board's arc and a roll, mm.
ARC_MM = 2.5
#: Shorter stretches without board are cracks, slots and lost readings, mm.
STRETCH_MM = 6.0
#: A lane that is off the board over more than this share of the frets shows no neck (own choice).
MOST_OFF = 0.5
#: A lane laid this far past the board's edge is off it by the file, mm (own choice).
EDGE_MM = 0.5


def check_on_board(
    string: FloatArray, places: FloatArray, cells: Cells, registration: Registration
) -> tuple[str, ...]:
    """A phrase for each lane that reads nothing, or something millimetres down, over a stretch.

    string: [passes]; places: [passes, frets], where the crowns are. All passes of a lane must: one
    that went wrong leaves the others. Raises NeckError where a lane does so over most of the
    frets.
    """
    x, went = cells.x_mm, cells.went_mm
    on = (x > np.maximum(places[:, :1], went[:, :1])) & (
        x < np.minimum(places[:, -1:], went[:, 1:])
    )
    lost = on & _lost(cells, on)
    said = []
    for one in np.unique(string).tolist():
        rows = string == one
        went_there = on[rows].any(axis=0)
        off = _long(went_there & ~(on[rows] & ~lost[rows]).any(axis=0))
        if not off.any():
            continue
        where = registration.neck_mm(x[off], one)
        line = (
            f"{lane_words(one)} is off the board from {where[0]:.0f} to {where[-1]:.0f} mm from "
            "the nut: its readings vanish or fall by millimetres there; check that the neck lies "
            "along the rail and in its middle, and board.width_mm and spacing_mm"
        )
        if np.count_nonzero(off) > MOST_OFF * np.count_nonzero(went_there):
            raise NeckError(f"{line}; scan again")
        said.append(line)
    return tuple(said)


def _lost(cells: Cells, on: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Without a reading, far under a line through the pass, or under what most passes read there.

    The line by least squares, three times, over what lies within FALLEN_MM of the last one.
    [passes, cells].
    """
    z, x = cells.z_mm, cells.x_mm - float(np.mean(cells.x_mm))
    seen = cells.seen & on
    high = np.array([np.median(a[b]) if b.any() else 0.0 for a, b in zip(z, seen, strict=True)])
    line = np.repeat(high[:, None], x.size, axis=1)
    for _ in range(3):
        near = (seen & (np.abs(z - line) < FALLEN_MM)).astype(float)
        count = np.maximum(near.sum(axis=1), 1.0)
        x_mean, z_mean = near @ x / count, np.sum(near * z, axis=1) / count
        spread = near @ x**2 - count * x_mean**2
        slope = (np.sum(near * z * x, axis=1) - count * x_mean * z_mean) / np.maximum(spread, 1.0)
        line = z_mean[:, None] + slope[:, None] * (x - x_mean[:, None])
    most = np.median(z, axis=0)
    return np.asarray(~cells.seen | (z < np.maximum(line, most - ARC_MM) - FALLEN_MM))


def _long(lost: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Only stretches of STRETCH_MM and more."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], lost.astype(int), [0]])))
    out = np.zeros_like(lost)
    for first, last in edges.reshape(-1, 2):
        if (last - first) * CELL_MM >= STRETCH_MM:
            out[first:last] = True
    return out


def past_edge(
    profiles: Sequence[Profile], places: FloatArray, instrument: Instrument
) -> tuple[str, ...]:
    """A phrase for each lane laid past the board's edge, by the file's width at its frets."""
    string = np.array([p.string for p in profiles])
    y = np.array([np.interp(x, p.x_mm, p.y_mm) for x, p in zip(places, profiles, strict=True)])
    frets = np.arange(1, instrument.frets + 1, dtype=float)
    x = instrument.fret_x_mm(frets, string[:, None])
    nut, last = instrument.board_width_mm
    width = nut + (last - nut) * x / x[:, -1:]
    past = np.nan_to_num(np.abs(y) - 0.5 * width, nan=-np.inf)
    said = {}
    for row in np.flatnonzero(past.max(axis=1) > EDGE_MM):
        fret = int(np.argmax(past[row]))
        said[float(string[row])] = (
            f"{lane_words(float(string[row]))} lies {past[row, fret]:.1f} mm past the board's edge "
            f"at fret {fret + 1}, by board.width_mm: correct that, spacing_mm, or the lane's y"
        )
    return tuple(said[one] for one in sorted(said))
