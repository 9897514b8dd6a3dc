"""Whether the readings of a scan are enough, lie on the board, and were laid by a right file."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument
from analysis.pattern.cells import CELL_MM, Cells
from analysis.pattern.registration import Registration
from calibration.profile import Profile

#: The nut's place in the file, by contract, mm.
NUT_BY_EYE_MM = 5.0
#: A crown's round is about this wide, and needs readings so close, mm.
ROUND_MM, CLOSE_MM = 1.6, 0.2
#: More than this share of the crowns read too coarsely is a scan that will not do; more than the
#: other is worth saying (own choice).
MOST_COARSE, SOME_COARSE = 0.5, 0.05
#: Readings this far under a lane's own board are off it; no board bows so far from straight, mm.
FALLEN_MM = 2.0
#: Shorter stretches without board are cracks, slots and lost readings, mm.
STRETCH_MM = 6.0
#: A lane that is off the board over more than this share of the frets shows no neck (own choice).
MOST_OFF = 0.5
#: A lane laid this far past the board's edge is off it by the file, mm (own choice).
EDGE_MM = 0.5


def check_readings(
    profiles: Sequence[Profile], cells: Cells, registration: Registration, instrument: Instrument
) -> tuple[str, ...]:
    """What is to be known of a registered scan, a phrase each.

    Raises NeckError where readings are too far apart, or a lane is off the board over most of it.
    """
    return (
        *_nut(registration, instrument),
        *_coarse(profiles, registration, instrument),
        *_off_board(profiles, cells, registration, instrument),
        *_past_edge(profiles, registration, instrument),
    )


def _nut(registration: Registration, instrument: Instrument) -> tuple[str, ...]:
    if abs(registration.nut_mm - instrument.nut_at_mm) <= NUT_BY_EYE_MM:
        return ()
    return (
        f"nut_at_mm: the file says {instrument.nut_at_mm:g}, the nut stands at "
        f"{registration.nut_mm:.1f}: correct it, the lanes' fan is laid by it",
    )


def _places(string: float, registration: Registration, instrument: Instrument) -> FloatArray:
    frets = np.arange(1, instrument.frets + 1, dtype=float)
    return registration.carriage_mm(instrument.fret_x_mm(frets, string), string)


def _coarse(
    profiles: Sequence[Profile], registration: Registration, instrument: Instrument
) -> tuple[str, ...]:
    """Readings too far apart under the crowns: the carriage was too fast."""
    apart = np.array([_apart_mm(p, _places(p.string, registration, instrument)) for p in profiles])
    coarse = apart > CLOSE_MM
    share = float(np.mean(coarse[np.isfinite(apart)])) if np.isfinite(apart).any() else 0.0
    if share <= SOME_COARSE:
        return ()
    worst = int(np.argmax(np.where(coarse, apart, 0.0).sum(axis=1)))
    spacing = float(np.median(apart[worst][coarse[worst]]))
    speed = profiles[worst].speed_mm_s
    how = "scan slower or at a higher rate"
    fast = ""
    if np.isfinite(speed):
        fast = f"at {speed:g} mm/s "
        how = f"scan at {speed * CLOSE_MM / spacing:.2g} mm/s or slower, or at a higher rate"
    frets = 1 + np.flatnonzero(coarse[worst])
    line = (
        f"too few readings under the crowns: {fast}samples lie {spacing:.2f} mm apart over frets "
        f"{frets[0]} to {frets[-1]} of {_lane(profiles[worst].string)}, a crown needs them every "
        f"{CLOSE_MM:g} mm or closer; {how}"
    )
    if share > MOST_COARSE:
        raise NeckError(line)
    return (line,)


def _apart_mm(profile: Profile, places: FloatArray) -> FloatArray:
    """Mean distance of the readings taken over each crown, lost ones and spikes included.

    NaN where the pass did not go. float[frets].
    """
    x = profile.x_mm
    first, last = (
        np.searchsorted(x, places - ROUND_MM / 2),
        np.searchsorted(x, places + ROUND_MM / 2),
    )
    went = (places > x[0] + ROUND_MM) & (places < x[-1] - ROUND_MM)
    return np.where(went, ROUND_MM / np.maximum(last - first, 1), np.nan)


def _off_board(
    profiles: Sequence[Profile], cells: Cells, registration: Registration, instrument: Instrument
) -> tuple[str, ...]:
    """Lanes that read nothing, or something millimetres down, over a stretch of the board."""
    off: dict[float, tuple[float, float, float]] = {}
    for row, one in enumerate(profiles):
        places = _places(one.string, registration, instrument)
        on = (cells.x_mm > max(places[0], one.x_mm[0])) & (
            cells.x_mm < min(places[-1], one.x_mm[-1])
        )
        if not on.any():
            continue
        lost = _long(_lost(cells.x_mm[on], cells.z_mm[row, on], cells.seen[row, on]))
        if lost.any():
            where = registration.neck_mm(cells.x_mm[on][lost], one.string)
            off[one.string] = (float(where[0]), float(where[-1]), float(lost.mean()))
    said = tuple(
        f"{_lane(string)} is off the board from {low:.0f} to {high:.0f} mm from the nut: its "
        "readings vanish or fall by millimetres there; check that the neck lies along the rail "
        "and in the middle, and board.width_mm and spacing_mm"
        for string, (low, high, _) in sorted(off.items())
    )
    for line, string in zip(said, sorted(off), strict=True):
        if off[string][2] > MOST_OFF:
            raise NeckError(f"{line}; scan again")
    return said


def _lost(x: FloatArray, z: FloatArray, seen: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Cells without a reading, or far under a straight line through the lane."""
    if np.count_nonzero(seen) < 2:
        return ~seen
    middle = float(np.mean(x))
    slope, high = 0.0, float(np.median(z[seen]))
    for _ in range(3):
        near = seen & (np.abs(z - high - slope * (x - middle)) < FALLEN_MM)
        if np.count_nonzero(near) < 2:
            break
        slope, high = np.polyfit(x[near] - middle, z[near], 1)
    return ~seen | (z < high + slope * (x - middle) - FALLEN_MM)


def _long(lost: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Only stretches of STRETCH_MM and more."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], lost.astype(int), [0]])))
    out = np.zeros_like(lost)
    for first, last in edges.reshape(-1, 2):
        if (last - first) * CELL_MM >= STRETCH_MM:
            out[first:last] = True
    return out


def _past_edge(
    profiles: Sequence[Profile], registration: Registration, instrument: Instrument
) -> tuple[str, ...]:
    """Lanes laid past the board's edge, by the file's width."""
    said = {}
    for one in profiles:
        places = _places(one.string, registration, instrument)
        y = np.interp(places, one.x_mm, one.y_mm)
        width = np.interp(places, places[[0, -1]], instrument.board_width_mm)
        past = np.nan_to_num(np.abs(y) - 0.5 * width, nan=-np.inf)
        if np.max(past) > EDGE_MM:
            fret = int(np.argmax(past)) + 1
            said[one.string] = (
                f"{_lane(one.string)} lies {past[fret - 1]:.1f} mm past the board's edge at fret "
                f"{fret}, by board.width_mm: correct that, spacing_mm, or the lane's y"
            )
    return tuple(said[string] for string in sorted(said))


def _lane(string: float) -> str:
    if float(string).is_integer():
        return f"the lane under string {string:.0f}"
    return f"the lane between strings {np.floor(string):.0f} and {np.ceil(string):.0f}"
