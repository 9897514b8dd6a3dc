"""Lanes that lie off the board, by what they read or by where they were laid."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument
from analysis.pattern.cells import CELL_MM, Cells
from analysis.pattern.lanes import lane_places_mm, lane_words
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
    profiles: Sequence[Profile], cells: Cells, registration: Registration, instrument: Instrument
) -> tuple[str, ...]:
    """A phrase for each lane that reads nothing, or something millimetres down, over a stretch.

    All its passes must: one that went wrong leaves the others. Raises NeckError where a lane does
    so over most of the frets.
    """
    string = np.array([p.string for p in profiles])
    board = np.median(cells.z_mm, axis=0)
    said = []
    for one in np.unique(string).tolist():
        places = lane_places_mm(one, registration, instrument)
        rows = np.flatnonzero(string == one)
        low, high = max(places[0], cells.went_mm[rows, 0].min()), places[-1]
        on = (cells.x_mm > low) & (cells.x_mm < min(high, cells.went_mm[rows, 1].max()))
        if not on.any():
            continue
        x, z, seen = cells.x_mm[on], cells.z_mm[rows][:, on], cells.seen[rows][:, on]
        each = [_lost(x, a, b, board[on]) for a, b in zip(z, seen, strict=True)]
        lost = _long(np.all(each, axis=0))
        if not lost.any():
            continue
        where = registration.neck_mm(cells.x_mm[on][lost], one)
        line = (
            f"{lane_words(one)} is off the board from {where[0]:.0f} to {where[-1]:.0f} mm from "
            "the nut: its readings vanish or fall by millimetres there; check that the neck lies along "
            "the rail and in its middle, and board.width_mm and spacing_mm"
        )
        if lost.mean() > MOST_OFF:
            raise NeckError(f"{line}; scan again")
        said.append(line)
    return tuple(said)


def _lost(
    x: FloatArray, z: FloatArray, seen: NDArray[np.bool_], board: FloatArray
) -> NDArray[np.bool_]:
    """Cells of a pass without a reading, far under a line through it, or under all the passes."""
    if np.count_nonzero(seen) < 2:
        return ~seen
    middle = float(np.mean(x))
    slope, high = 0.0, float(np.median(z[seen]))
    for _ in range(3):
        near = seen & (np.abs(z - high - slope * (x - middle)) < FALLEN_MM)
        if np.count_nonzero(near) < 2:
            break
        slope, high = np.polyfit(x[near] - middle, z[near], 1)
    fallen = z < high + slope * (x - middle) - FALLEN_MM
    return np.asarray(~seen | fallen | (z < board - FALLEN_MM - ARC_MM))


def _long(lost: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Only stretches of STRETCH_MM and more."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], lost.astype(int), [0]])))
    out = np.zeros_like(lost)
    for first, last in edges.reshape(-1, 2):
        if (last - first) * CELL_MM >= STRETCH_MM:
            out[first:last] = True
    return out


def past_edge(
    profiles: Sequence[Profile], registration: Registration, instrument: Instrument
) -> tuple[str, ...]:
    """A phrase for each lane laid past the board's edge, by the file's width."""
    said = {}
    for one in profiles:
        places = lane_places_mm(one.string, registration, instrument)
        y = np.interp(places, one.x_mm, one.y_mm)
        width = np.interp(places, places[[0, -1]], instrument.board_width_mm)
        past = np.nan_to_num(np.abs(y) - 0.5 * width, nan=-np.inf)
        if np.max(past) > EDGE_MM:
            fret = int(np.argmax(past)) + 1
            said[one.string] = (
                f"{lane_words(one.string)} lies {past[fret - 1]:.1f} mm past the board's edge at "
                f"fret {fret}, by board.width_mm: correct that, spacing_mm, or the lane's y"
            )
    return tuple(said[string] for string in sorted(said))
