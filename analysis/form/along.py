"""Along each string: S-shape, fall-away past the joint, humps and hollows."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from analysis.form.line import CUBIC_PEAK, smooth_line
from analysis.instrument import FloatArray, Instrument
from analysis.neck.chord import parts_of_sum, root_sum
from analysis.neck.shape import Shape

#: What stands off the smooth line by less, after twice its u, is not listed, mm: a levelling
#: beam leaves as much (common practice, no source).
STANDS_OUT_MM = 0.01
#: A stretch of so many tops in a row may stand out by half as much each: they act together.
STRETCH = 3
#: Which coefficients of the line these are.
_ODD, _PAST = 3, 4


@dataclass(frozen=True, slots=True)
class Hump:
    """Tops that stand off the smooth line on one side, first to last; `fret` is the furthest,
    by height_mm: + high, - low."""

    fret: int
    first: int
    last: int
    height_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True)
class Along:
    """One string. Lengths in mm, NaN where too few tops were seen.

    s_mm: the smooth line's odd part about the middle between fret 1 and the joint, at its
    largest: + where the nut's half of the neck lies low and the body's half high.
    fall_away_mm: how far the smooth line's last fret lies under (+) its chord from fret 1 to
    the joint, carried on; NaN where no fret stands past the joint. humps: what stands out of
    the smooth line, from the nut on. off_mm, u_off_mm: float[frets], tops over the line;
    scatter_mm: how they scatter about it, robust.
    """

    string: int
    s_mm: float
    u_s_mm: float
    fall_away_mm: float
    u_fall_away_mm: float
    humps: tuple[Hump, ...]
    off_mm: FloatArray
    u_off_mm: FloatArray
    scatter_mm: float


def along_of(shape: Shape, instrument: Instrument) -> tuple[Along, ...]:
    """One a string. Every u holds that of the tops, the rail's joint error in it, and what the
    frets' own scatter leaves open of the line they scatter about."""
    return tuple(
        _along(shape, s, instrument.body_joint_fret) for s in range(len(instrument.strings))
    )


def _along(shape: Shape, s: int, joint: int) -> Along:
    x, z = shape.x_mm[:, s], shape.top_mm[:, s]
    line = smooth_line(x, z, joint)
    if line is None:
        nothing = np.full_like(x, np.nan)
        return Along(s + 1, np.nan, np.nan, np.nan, np.nan, (), nothing, nothing, np.nan)
    seen = np.isfinite(z) & np.isfinite(shape.u_top_mm[:, s])
    terms = shape.terms.each(lambda part: part[seen, s])

    def found(coefficient: int, factor: float) -> tuple[float, float]:
        weights = factor * line.rows[coefficient]
        own = root_sum(parts_of_sum(terms, x[seen], weights[seen], shape.rail))
        u = np.hypot(own, line.u_of_scatter_mm(weights))
        return factor * float(line.terms[coefficient]), float(u)

    s_mm, u_s = found(_ODD, CUBIC_PEAK)
    fall, u_fall = (np.nan, np.nan)
    if line.terms.size > _PAST:
        fall, u_fall = found(_PAST, -float(line.design[-1, _PAST]))
    off = z - line.value_mm
    laid = line.u_of_scatter_mm(line.design @ line.rows)
    u_off = np.hypot(shape.u_top_mm[:, s], laid)
    return Along(s + 1, s_mm, u_s, fall, u_fall, humps_of(off, u_off), off, u_off, line.scatter_mm)


def humps_of(off_mm: FloatArray, u_mm: FloatArray) -> tuple[Hump, ...]:
    """Runs of neighbouring tops on one side of the line that stand out of it beyond their u.

    A top stands out where |off| - 2 u is over 0.01 mm, decided with a guard band as in
    ISO 14253-1; three or more in a row where it is over half of that for each. [frets] each.
    """
    clear = np.nan_to_num(np.abs(off_mm) - 2.0 * u_mm, nan=-1.0)
    side = np.where(clear > 0.5 * STANDS_OUT_MM, np.sign(np.nan_to_num(off_mm)), 0.0)
    turns = np.concatenate([[0], np.flatnonzero(np.diff(side)) + 1, [side.size]])
    humps = []
    for start, end in pairwise(turns):
        run = slice(start, end)
        if side[start] == 0.0 or not (end - start >= STRETCH or np.max(clear[run]) > STANDS_OUT_MM):
            continue
        top = int(start) + int(np.argmax(np.abs(off_mm[run])))
        humps.append(Hump(top + 1, int(start) + 1, int(end), float(off_mm[top]), float(u_mm[top])))
    return tuple(humps)


def room_mm(instrument: Instrument) -> FloatArray:
    """float[strings]: how far a string fretted at one fret clears the next on a straight neck.

    The string runs straight from the fret to its saddle, which stands twice the action over
    fret 12 less the gap at the nut over the tops' line; at the next fret it has risen by
    1 - 2^(-1/12) of that, at every fret the same (equal temperament).
    """
    saddle = 2.0 * np.asarray(instrument.action_mm) - np.asarray(instrument.nut_gap_mm)
    return np.asarray(saddle * (1.0 - 2.0 ** (-1.0 / 12.0)))
