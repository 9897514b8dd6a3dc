"""The rail from one object scanned at several places along it.

The rail's part of a reading stays put, the object's part moves with the object. Anything with
an even enough surface will do: a neck, a plank, a straightedge of unknown shape.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray, Pad
from calibration.profile import Profile
from calibration.rail.blind import describe_blind
from calibration.rail.cells import cell_middle, off_pads
from calibration.rail.estimate import (
    UNSEEN_MM,
    RailEstimate,
    drift_covariance,
    estimate,
    orthonormal_rank,
    polynomials,
)
from calibration.rail.map import RailError
from calibration.rail.match import match_offsets
from calibration.rail.spline import ObjectSpline
from calibration.rail.system import Readings, Solution, countable, solve

#: Two offsets leave every wave free whose period divides their difference.
LEAST_OFFSETS = 3
#: Offsets nearer to each other than this are one.
APART_MM = 4.0
#: Offsets must reach over this share of the rail, or long waves drown in the noise.
LEAST_REACH = 0.1
#: Rounds of weights and shifts; the last change nothing.
ROUNDS = 6
#: Robust standard deviations from which a reading is wild; spikes are flagged before.
WILD = 6.0
#: Variance over that of noise alone up to which a place is smooth.
SMOOTH = 1.5
#: A spline with a kink of third difference q misses it by about this share of q.
MISFIT = 0.15
#: A cell that is told less than this share of what the middling one is told is left out.
LEAST_TOLD = 0.2
#: More scatter than this many times the readings' noise is not one object.
SCATTER = 3.0


@dataclass(frozen=True, slots=True)
class OffsetsFit:
    """rail: blind to `rail.free`. offsets_mm: float[placements], as refined, the first 0.

    scatter: residual scatter over what noise and position jitter allow, 1 where all is well.
    """

    rail: RailEstimate
    offsets_mm: FloatArray
    scatter: float


def fit_offsets(
    placements: Sequence[Sequence[Profile]],
    pads: Sequence[Pad],
    offsets_mm: Sequence[float] | None = None,
    u_offset_mm: float = 0.2,
    jitter_mm: float = 0.003,
) -> OffsetsFit:
    """Rail from passes over one object in several placements, corrected for all but the rail.

    offsets_mm: how far to the right each placement stands of the first; None finds it from the
    scans. Either way each pass's place is refined with u_offset_mm as what is known of it.
    jitter_mm: standard deviation of a reading's position: where the object is steep a reading
    weighs less by slope times jitter.

    A reading is R(X) + N(X - d_k) + c_k + b_k X: rail, object, and a height and tilt of each
    pass. Whatever the offsets, offset, slope and parabola of R cannot be seen. Let N gain
    a x². With x = X - d_k that is a X² - 2 a d_k X + a d_k²: take a X² from R, put 2 a d_k into
    b_k and -a d_k² into c_k, and no reading changes. Likewise for N gaining a + b x. A wave of
    R is not seen either if its period divides all differences of the offsets: N can hold its
    negative and stay under it. Periods that nearly divide them are seen poorly, and that is in
    the uncertainty. All unseen shapes are in `rail.free`; nothing is smoothed to hide them.

    Raises RailError for fewer than three offsets, offsets that reach over less than a tenth of
    the rail, or placements that are not one object; the message says how much is needed.
    """
    _check_count(len(placements))
    d = match_offsets(placements, pads) if offsets_mm is None else tuple(offsets_mm)
    if len(d) != len(placements):
        raise RailError(f"found {len(d)} offsets for {len(placements)} placements; give one each")
    readings = _readings(placements, d, pads)
    _check_offsets(np.array(d), readings)
    solved, shift, scatter = _iterated(readings, u_offset_mm, jitter_mm)
    if scatter > SCATTER:
        raise RailError(
            f"the passes scatter {scatter:.0f} times more than their noise about one rail and one "
            "object; was it the same object, the same lane and the same state at every offset?"
        )
    placement = np.repeat(np.arange(len(d)), [len(profiles) for profiles in placements])
    moved = np.bincount(placement, shift) / np.bincount(placement)
    refined = np.array(d) + moved - d[0] - moved[0]
    return OffsetsFit(_estimated(solved, scatter, refined), refined, scatter)


def _check_count(placements: int) -> None:
    if placements < LEAST_OFFSETS:
        raise RailError(
            f"found {placements} placements; at least {LEAST_OFFSETS} are needed, better 4 or "
            "more with differences that share no divisor (0, 23, 61, 104 mm)"
        )


def _check_offsets(d: FloatArray, readings: Readings) -> None:
    steps = np.diff(np.sort(d))
    apart = 1 + int(np.count_nonzero(steps > APART_MM))
    if apart < LEAST_OFFSETS:
        raise RailError(
            f"found {apart} offsets that differ by over {APART_MM:.0f} mm; at least "
            f"{LEAST_OFFSETS} are needed"
        )
    reach, needed = float(np.ptp(d)), LEAST_REACH * float(np.ptp(readings.x_mm))
    if reach < needed:
        raise RailError(
            f"the offsets reach over {reach:.0f} mm; at least {needed:.0f} mm is needed, a tenth "
            "of the rail that was scanned, or its long waves are not seen"
        )


def _readings(
    placements: Sequence[Sequence[Profile]], d_mm: Sequence[float], pads: Sequence[Pad]
) -> Readings:
    passes = [(p, d) for profiles, d in zip(placements, d_mm, strict=True) for p in profiles]
    clear = [p.ok & off_pads(p.x_mm, pads) for p, _ in passes]
    sizes = [int(np.count_nonzero(ok)) for ok in clear]
    if min(sizes, default=0) == 0:
        raise RailError("a pass has no readings between the pads; scan that placement again")
    number = np.repeat(np.arange(len(sizes)), sizes)
    # a still sensor's scatter can be zero
    noise = np.maximum(np.array([p.noise_mm for p, _ in passes]), 1e-5)
    return Readings(
        np.concatenate([p.x_mm[ok] for (p, _), ok in zip(passes, clear, strict=True)]),
        np.concatenate([p.z_mm[ok] for (p, _), ok in zip(passes, clear, strict=True)]),
        np.array([d for _, d in passes])[number],
        noise[number] ** -2.0,
        number,
    )


def _iterated(
    readings: Readings, u_offset_mm: float, jitter_mm: float
) -> tuple[Solution, FloatArray, float]:
    """Solution, each pass's shift in all, scatter. A round takes the object, the weights and
    the places of the passes from the one before."""
    passes = int(readings.number.max()) + 1
    # the object is where the first pass says
    u_shift = np.array([1e-6, *[u_offset_mm] * (passes - 1)])
    shift, trust, spline = np.zeros(passes), np.ones(readings.x_mm.size), None
    for turn in range(ROUNDS):
        moved = replace(readings, d_mm=readings.d_mm + shift[readings.number])
        variance, slope = _variance(moved, spline, jitter_mm)
        moved = replace(moved, weight=trust / variance)
        keep = countable(moved)
        _check_left(keep, readings)
        solved = solve(moved.take(keep), slope[keep], u_shift)
        spline, shift = solved.spline, shift + solved.shift_mm
        score = solved.off_mm / np.sqrt(variance[keep])
        if 0 < turn < ROUNDS - 1:
            # not before the passes are in their places, not after the last fit
            trust[keep] = _trust(score)
    smooth = variance[keep] * readings.weight[keep] < SMOOTH
    return solved, shift, _scatter(score[smooth], solved.unknowns / score.size)


def _scatter(score: FloatArray, fitted_share: float) -> float:
    """Root mean square with its degrees of freedom; sharp places have a variance of their own."""
    left = max(score.size * (1.0 - fitted_share), 1.0)
    return max(float(np.sqrt(np.sum(score**2) / left)), 1e-3)


def _variance(
    readings: Readings, spline: ObjectSpline | None, jitter_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Variance of each reading and the object's slope under it; of noise alone at first."""
    noise = 1.0 / readings.weight
    if spline is None:
        return noise, np.zeros(noise.size)
    at = readings.on_object_mm
    slope, kink = spline.slope(at), spline.kink(at)
    # noise bends the spline a little everywhere
    sharp = np.maximum(kink - 4.0 * np.median(kink), 0.0)
    return noise + (jitter_mm * slope) ** 2 + (MISFIT * sharp) ** 2, slope


def _trust(score: FloatArray) -> FloatArray:
    """1 where a reading is within reach of the fit, 0 where it is wild: in or out, so that the
    scatter of what is in stays that of the noise. With a median deviation of zero the scale is
    the stated noise."""
    scale = max(1.4826 * float(np.median(np.abs(score))), 1.0)
    return np.where(np.abs(score) < WILD * scale, 1.0, 0.0)


def _check_left(keep: NDArray[np.bool_], readings: Readings) -> None:
    left = np.bincount(readings.number[keep], minlength=int(readings.number.max()) + 1)
    whole = np.bincount(readings.number)
    if np.any(left < 0.5 * whole):
        raise RailError(
            f"pass {int(np.argmin(left / whole)) + 1} shares less than half of its readings with "
            "the others; scan one object at every offset, the same lane of it"
        )


def _estimated(solved: Solution, scatter: float, offsets_mm: FloatArray) -> RailEstimate:
    """Free is what the data know worse than UNSEEN_MM rms, offset, slope and parabola always."""
    cells, information, right = _well_read(solved)
    x = cell_middle(cells)
    values, modes = np.linalg.eigh(information / scatter**2)
    told = values > 1.0 / (x.size * UNSEEN_MM**2)
    seen = modes[:, told]
    covariance = (seen / values[told]) @ seen.T
    r = covariance @ right / scatter**2
    free = orthonormal_rank(np.vstack([polynomials(x, 2), modes[:, ~told].T]))
    places = ", ".join(f"{d:.1f}" for d in offsets_mm)
    words = (
        f"with offsets of {places} mm: {describe_blind(x, free)}",
        "a curve of the object that changes from placement to placement (another support, "
        "another temperature): it stands in the rail",
    )
    joint = covariance + drift_covariance(x)
    return estimate("several offsets", x, r, joint, free, words)


def _well_read(solved: Solution) -> tuple[NDArray[np.int_], FloatArray, FloatArray]:
    """Cells with readings enough, and information on them with the others eliminated.

    At the ends of the passes a cell may hold the rim of one reading.
    """
    told = np.diag(solved.information)
    good = told > LEAST_TOLD * np.median(told)
    poor = ~good
    own = np.linalg.pinv(solved.information[np.ix_(poor, poor)], rcond=1e-10, hermitian=True)
    gain = solved.information[np.ix_(good, poor)] @ own
    information = solved.information[np.ix_(good, good)] - gain @ solved.information[poor][:, good]
    right = solved.right[good] - gain @ solved.right[poor]
    return solved.cells[good], 0.5 * (information + information.T), right
