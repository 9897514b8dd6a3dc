"""How many frets the neck has, against how many the file says."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument
from analysis.pattern.cells import CELL_MM
from analysis.pattern.lay import MORE_FRETS
from analysis.pattern.register import Look
from analysis.pattern.registration import Registration
from analysis.pattern.vote import MATCH_MM

#: A fret stands where at least this share of the passes has a bump, and does not where fewer than
#: the other have (own choice).
STANDS_SHARE, GONE_SHARE = 0.8, 0.2
#: A bump so far along from its place, or above or below the line of the last frets' tops, is not
#: the next fret (dirt, a pickup), mm (own choice).
PLACE_MM, IN_LINE_MM = 0.5, 0.5
#: The board ends where nothing stands up to this far under the crowns, over this width, mm.
HOLE_DEEP_MM, HOLE_WIDE_MM = 4.0, 3.0
#: Frets that give that line.
_LINE_FRETS = 6


def check_fret_count(look: Look, registration: Registration, instrument: Instrument) -> None:
    """Raises NeckError where the file's last frets are not on the scan, or the scan has more.

    Frets the scan did not go to say nothing.
    """
    said = instrument.frets
    stands, went = _standing(look, registration, instrument)
    # a foreign bump past the last fret stands alone, with more missing before it; one at a fret's
    # place, in line and on the board, is rarer than a missing fret, and counts double
    count = np.cumsum(np.where(stands, 2, np.where(went, -1, 0)))
    last = int(count.size - np.argmax(count[::-1]))
    if last > said:
        raise NeckError(
            f"frets: the file says {said}, but crowns stand on to where fret {last} would: "
            "correct frets"
        )
    gone = last + np.flatnonzero(went[last:said])
    if gone.size:
        raise NeckError(
            f"frets: the file says {said}, but no crown stands where fret {gone[0] + 1} would; the "
            f"last one on the scan is fret {last}: correct frets"
        )


def _standing(
    look: Look, registration: Registration, instrument: Instrument
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(whether fret 1, 2 and on stands on the scan, whether any pass went there)."""
    said = instrument.frets
    frets = np.arange(1, said + MORE_FRETS + 1, dtype=float)
    string = look.string[:, None]
    places = registration.carriage_mm(instrument.fret_x_mm(frets, string), string)
    went_mm = look.bumps.went_mm
    inside = (places > went_mm[:, :1] + MATCH_MM) & (places < went_mm[:, 1:] - MATCH_MM)
    bump = _nearest(look, places)
    near = inside & (bump >= 0) & (np.abs(look.bumps.x_mm[bump] - places) < PLACE_MM)
    share = near.sum(axis=0) / np.maximum(inside.sum(axis=0), 1)
    x, top = np.full((2, frets.size), np.nan)
    for n in np.flatnonzero(near.any(axis=0)):
        x[n] = np.median(places[near[:, n], n])
        top[n] = np.median(look.bumps.top_mm[bump[near[:, n], n]])
    stands = share >= np.where(frets <= said, GONE_SHARE, STANDS_SHARE)
    stands &= ~_past_board(look, places)
    return _in_line(x, top, stands), np.asarray(inside.any(axis=0))


def _past_board(look: Look, places: FloatArray) -> NDArray[np.bool_]:
    """bool[frets]: whether the board ends before a fret's place, by most passes.

    It does where nothing, or something far below the crowns, was read between it and the place
    before it.
    """
    cells, bumps = look.cells, look.bumps
    crowns = np.array([np.median(bumps.top_mm[bumps.of == row]) if count else np.nan
                       for row, count in enumerate(bumps.count)])  # fmt: skip
    low = ~cells.seen | (cells.z_mm < crowns[:, None] - HOLE_DEEP_MM)
    before = np.pad(np.cumsum(low, axis=1), ((0, 0), (1, 0)))
    cell = np.clip((places - cells.from_mm) / CELL_MM, 0, low.shape[1]).astype(np.intp)
    holes = np.diff(np.take_along_axis(before, cell, axis=1), axis=1) * CELL_MM > HOLE_WIDE_MM
    went = cell[:, 1:] < low.shape[1]
    ends = (holes & went).sum(axis=0) > 0.5 * went.sum(axis=0)
    # a hole among the first frets is a lane off the board, not the board's end
    ends[: _LINE_FRETS + 1] = False
    return np.concatenate([[False], np.logical_or.accumulate(ends)])


def _nearest(look: Look, places: FloatArray) -> NDArray[np.intp]:
    """Index of the bump nearest to each place on its pass, -1 where the pass has none."""
    out = np.full(places.shape, -1)
    for row in np.unique(look.bumps.of):
        mine = np.flatnonzero(look.bumps.of == row)
        off = np.abs(places[row][:, None] - look.bumps.x_mm[mine])
        out[row] = mine[np.argmin(off, axis=1)]
    return out


def _in_line(x: FloatArray, top: FloatArray, stands: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which of the standing ones carry on the line of the tops before them.

    The line of Theil (1950) and Sen (1968): medians, so that a capo over a fret does not turn it.
    """
    out = stands.copy()
    frets = np.flatnonzero(stands)
    for i, n in enumerate(frets[_LINE_FRETS:], start=_LINE_FRETS):
        before = frets[i - _LINE_FRETS : i]
        a, b = np.triu_indices(_LINE_FRETS, 1)
        slope = np.median((top[before[b]] - top[before[a]]) / (x[before[b]] - x[before[a]]))
        out[n] = abs(top[n] - np.median(top[before] + slope * (x[n] - x[before]))) < IN_LINE_MM
    return out
