"""Repeated scans of one neck, with and without clamping it anew, laid over one another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.neck.plane import off_plane
from analysis.neck.relief import reliefs
from analysis.neck.tops import Tops

#: A best plane off every scan takes this many degrees of freedom.
_PLANE = 3
#: Fewer tops than this say too little about a shape.
FEWEST_TOPS = 8
#: A top that jumps by more than this, beyond the scatter, is no clamping (own choice).
JUMP_MM, JUMP_SIGMAS = 0.01, 6.0
#: Clamping that bends a neck by more is another neck, or another state (own choice).
BOW_MM = 0.1


class RepeatedError(ValueError):
    """The scans do not show the same neck in the same state."""


@dataclass(frozen=True, slots=True)
class Repeated:
    """Every clamping with as many scans; frets and lanes as in the tops.

    seen: bool[frets, lanes], tops that every scan shows; the rest is left out.
    off_mm: float[clampings, scans, tops], each scan's shape less the mean shape.
    mean_mm: float[tops], the mean shape off its best plane.
    relief_mm: float[clampings, scans, lanes], NaN where a chord's end was not seen.
    u_mm, u_relief_mm: what is stated, root mean square; u_random_mm, u_random_relief_mm: of
    that, what scans of one clamping may differ by, noise, drift and crown.
    """

    seen: NDArray[np.bool_]
    off_mm: FloatArray
    mean_mm: FloatArray
    relief_mm: FloatArray
    u_mm: float
    u_random_mm: float
    u_relief_mm: float
    u_random_relief_mm: float


def lay_over(tops: Sequence[Sequence[Tops]], joint: int) -> Repeated:
    """Compares scans as shapes: [clampings][scans] of tops under the same lanes.

    Height and tilt are not measurement: how a neck stands on the rig is of no matter, and is
    another after every clamping. So the best plane goes off each scan's difference from the
    mean, and what it takes with it of the scatter is given back by sqrt(tops / (tops - 3)).
    joint: the body-joint fret. Raises RepeatedError where too few tops are seen in every scan.
    """
    z = np.array([[one.z_mm for one in scans] for scans in tops])
    seen = np.isfinite(z).all(axis=(0, 1))
    count = int(np.count_nonzero(seen))
    if count < FEWEST_TOPS:
        raise RepeatedError(
            f"only {count} fret tops were seen in every scan; allowed {FEWEST_TOPS} or more."
        )
    first = tops[0][0]
    x, y = first.x_mm[seen], first.y_mm[seen]
    mean = z[..., seen].mean(axis=(0, 1))
    off = np.apply_along_axis(off_plane, -1, z[..., seen] - mean, x, y) * np.sqrt(
        count / (count - _PLANE)
    )
    every = [one for scans in tops for one in scans]
    chords = [_chords(one, one.u_mm, joint) for one in every]
    random = [_chords(one, _random_mm(one), joint) for one in every]
    return Repeated(
        seen,
        off,
        off_plane(mean, x, y),
        np.array([depth for depth, _ in chords]).reshape(*z.shape[:2], -1),
        _rms(np.array([one.u_mm[seen] for one in every])),
        _rms(np.array([_random_mm(one)[seen] for one in every])),
        _rms(np.array([u for _, u in chords])),
        _rms(np.array([u for _, u in random])),
    )


def _chords(tops: Tops, u_mm: FloatArray, joint: int) -> tuple[FloatArray, FloatArray]:
    """Relief of every lane, and what this u of the tops makes of its own."""
    found = reliefs(tops.x_mm, tops.z_mm, u_mm, joint)
    depth, u = np.array([(one.relief_mm, one.u_relief_mm) for one in found]).T
    return depth, u


def check_same_neck(repeated: Repeated, x_mm: FloatArray, strings: FloatArray) -> None:
    """The neck was the same at every clamping but for a gentle bend.

    x_mm: [frets, lanes]; strings: float[lanes]. From each clamping to the next the change along
    a lane is taken for a parabola, robustly. Raises RepeatedError naming the fret that left
    it, or how far the lane bent.
    """
    scans = repeated.off_mm.shape[1]
    within = repeated.off_mm - repeated.off_mm.mean(axis=1, keepdims=True)
    spread = np.sqrt(np.sum(within**2) / within[:, 1:].size) * np.sqrt(2.0 / scans)
    limit = max(JUMP_MM, JUMP_SIGMAS * float(spread))
    change = np.full((repeated.off_mm.shape[0] - 1, *repeated.seen.shape), np.nan)
    change[:, repeated.seen] = np.diff(repeated.off_mm.mean(axis=1), axis=0)
    for clamping, step in enumerate(change, start=1):
        for lane, string in enumerate(strings):
            _check_lane(clamping, string, x_mm[:, lane], step[:, lane], limit)


def _check_lane(
    clamping: int, string: float, x_mm: FloatArray, change_mm: FloatArray, limit_mm: float
) -> None:
    known = np.flatnonzero(np.isfinite(change_mm))
    if known.size < 5:
        return
    bend = _parabola(x_mm[known], change_mm[known], limit_mm)
    off = change_mm[known] - bend
    where = f"between clampings {clamping} and {clamping + 1}"
    furthest = int(np.argmax(np.abs(off)))
    if abs(off[furthest]) > limit_mm:
        raise RepeatedError(
            f"{where} the top of fret {known[furthest] + 1} at string {string:g} moved by "
            f"{1e3 * off[furthest]:+.0f} µm against its neighbours; clamping a neck moves no "
            f"single fret by more than {1e3 * limit_mm:.0f} µm: is it loose, or was it dirty?"
        )
    chord = np.interp(x_mm[known], x_mm[known][[0, -1]], bend[[0, -1]])
    bow = float(np.max(np.abs(bend - chord)))
    if bow > BOW_MM:
        raise RepeatedError(
            f"{where} the neck bent by {1e3 * bow:.0f} µm at string {string:g}; allowed "
            f"{1e3 * BOW_MM:.0f} µm: was the rod turned, or a string put on or taken off?"
        )


def _parabola(x: FloatArray, y: FloatArray, limit: float) -> FloatArray:
    """float[n]: least squares, three times, each time without what lies further off than limit."""
    middle, keep = x - x.mean(), np.ones(x.size, dtype=bool)
    fit = np.zeros(3)
    for _ in range(3):
        fit = np.polyfit(middle[keep], y[keep], 2)
        off = np.abs(y - np.polyval(fit, middle))
        near = off <= max(limit, 2.0 * float(np.median(off)))
        keep = near if np.count_nonzero(near) > 3 else keep
    return np.asarray(np.polyval(fit, middle))


def _random_mm(tops: Tops) -> FloatArray:
    parts = tops.terms.parts
    return np.asarray(np.sqrt(sum(parts[name] ** 2 for name in ("noise", "drift", "crown"))))


def _rms(values: FloatArray) -> float:
    known = values[np.isfinite(values)]
    return float(np.sqrt(np.mean(known**2))) if known.size else np.nan
