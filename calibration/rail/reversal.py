"""The rail from a straightedge scanned twice, the second time reversed.

Method: Evans, Hocken, Estler, "Self-calibration: reversal, redundancy, error separation, and
absolute testing", CIRP Annals 45(2) (1996) 617-634 (citation from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from calibration.passes import FloatArray, Pad
from calibration.profile import Profile
from calibration.rail.cells import CELL_MM, SHORTEST_MM, Cells, cell_middle, even_surface
from calibration.rail.estimate import (
    RailEstimate,
    drift_covariance,
    estimate,
    independent,
    long_covariance,
    orthonormal,
    polynomials,
    without,
    without_both,
)
from calibration.rail.map import RailError

Way = Literal["over", "ends"]
Verdict = Literal["turned", "undecided"]

#: Laid again, a straightedge settles to another shape by about this, rms (own estimate).
SETTLE_MM = 1e-4
#: Log likelihood ratio at which the data speak clearly, a thousand to one: of straightedges as good
#: as stated that were turned, fewer than one in a thousand is refused (Markov, on the ratio).
CLEAR = float(np.log(1000.0))
#: An uneven remainder with less than this chance is not noise.
RARE = 1e-4
#: Turned end for end, the straightedge must come back to its place within this.
PLACE_MM = 5.0


@dataclass(frozen=True, slots=True)
class ReversalCheck:
    """Whether the second scan really was of the straightedge turned.

    log_ratio: natural log of how much likelier the difference of the scans is under "turned"
    than under "not turned": over 6.9 the two scans differ as turning makes them, under -6.9 they
    are the same and the fit refuses. difference_um: rms of their difference (line taken off).
    uneven_um, uneven_p: for "ends", rms of the difference's part that is even about the middle,
    which turning cannot make, and the chance of as much from noise; nan for "over".
    """

    verdict: Verdict
    log_ratio: float
    difference_um: float
    uneven_um: float
    uneven_p: float


@dataclass(frozen=True, slots=True)
class Reversal:
    """The rail, and what the reversal tells of the straightedge.

    edge_x_mm, edge_mm, edge_u_mm: float[cells], the straightedge's shape at the carriage
    positions of the first scan, a straight line taken off. edge_part: "whole" or "odd about
    its middle".
    """

    rail: RailEstimate
    edge_x_mm: FloatArray
    edge_mm: FloatArray
    edge_u_mm: FloatArray
    edge_part: str
    check: ReversalCheck


def fit_reversal(
    first: Sequence[Profile],
    second: Sequence[Profile],
    pads: Sequence[Pad],
    way: Way,
    straightedge_um: float,
    middle_mm: float | None = None,
) -> Reversal:
    """Rail and straightedge from passes over it as it lay and as it was reversed.

    "over": turned about its long axis and read from its other side, the rail's error keeping
    its sign: I1 = R + S, I2 = R - S. Everything separates but each scan's straight line.
    "ends": turned end for end in place, the sensor where it was: with x from its middle,
    I1 = R + S(x), I2 = R + S(-x). Their difference is twice S's odd part; its even part, the
    bow above all, stays in R and, as `straightedge_um` says, in R's uncertainty.

    straightedge_um: the straightedge's own standard uncertainty, as for `estimate_rail`; the check
    compares with it. middle_mm: the straightedge's middle on the rail for "ends"; None takes
    the middle of what was seen, so both its ends must be seen.

    Raises RailError where a scan shows no straightedge, where they do not lie over one another,
    or where the data clearly show that it was not turned.
    """
    one, two, middle = _paired(first, second, pads, way, middle_mm)
    line = orthonormal(polynomials(one.x_mm, 1))
    expected = long_covariance(one.x_mm, 1e-3 * straightedge_um)
    mirror = np.arange(one.x_mm.size)[::-1]
    odd, even = _parts(expected, mirror) if way == "ends" else (expected, 0.0 * expected)
    half = 0.5 * without(one.z_mm - two.z_mm, line)
    u = 0.5 * np.hypot(one.u_mm, two.u_mm)
    check = _checked(half, u, odd, way, mirror, line, straightedge_um)
    joint = independent(u) + drift_covariance(one.x_mm) + even + _moved(half, mirror, check)
    rail = estimate(
        f"straightedge reversed ({way})",
        one.x_mm,
        0.5 * (one.z_mm + two.z_mm),
        joint,
        line,
        _words(way, straightedge_um, middle, check),
    )
    shape = half if way == "over" else 0.5 * (half - half[mirror])
    u_shape = u if way == "over" else u / np.sqrt(2.0)
    part = "whole" if way == "over" else "odd about its middle"
    return Reversal(rail, one.x_mm, shape, u_shape, part, check)


def _paired(
    first: Sequence[Profile],
    second: Sequence[Profile],
    pads: Sequence[Pad],
    way: Way,
    middle_mm: float | None,
) -> tuple[Cells, Cells, float]:
    """Both scans on the cells they share; for "ends" only those whose mirror image is shared."""
    scans = (_seen(first, pads, "first"), _seen(second, pads, "reversed"))
    middles = [0.5 * (c.x_mm[0] + c.x_mm[-1]) for c in scans]
    if way == "ends" and middle_mm is None and abs(middles[1] - middles[0]) > PLACE_MM:
        raise RailError(
            f"the straightedge's middle was at {middles[0]:.1f} mm and, turned, at "
            f"{middles[1]:.1f} mm; at most {PLACE_MM:.0f} mm apart is allowed: turn it in its "
            "place, or give middle_mm"
        )
    middle = float(np.mean(middles)) if middle_mm is None else middle_mm
    common = np.intersect1d(scans[0].number, scans[1].number)
    if way == "ends":
        # the middle of a cell or its edge, so that cells fall on cells
        common = np.intersect1d(common, round(2.0 * middle / CELL_MM) - 1 - common)
    if common.size * CELL_MM < SHORTEST_MM:
        raise RailError(
            f"the two scans share {common.size * CELL_MM:.0f} mm of straightedge; at least "
            f"{SHORTEST_MM:.0f} mm is needed: turn it in its place"
        )
    one, two = (_cut(c, common) for c in scans)
    return one, two, middle


def _seen(profiles: Sequence[Profile], pads: Sequence[Pad], which: str) -> Cells:
    try:
        return even_surface(profiles, pads)
    except RailError as error:
        raise RailError(f"{which} scan: {error}") from error


def _cut(cells: Cells, common: NDArray[np.int_]) -> Cells:
    kept = cells.take(np.isin(cells.number, common))
    # a still sensor's scatter can be zero
    return Cells(cell_middle(kept.number), kept.z_mm, np.maximum(kept.u_mm, 1e-6))


def _parts(joint: FloatArray, mirror: NDArray[np.int_]) -> tuple[FloatArray, FloatArray]:
    """Covariance of a shape's odd and of its even part."""
    turned, both = joint[:, mirror], joint[np.ix_(mirror, mirror)]
    same, cross = 0.25 * (joint + both), 0.25 * (turned + turned.T)
    return same - cross, same + cross


def _checked(
    half: FloatArray,
    u: FloatArray,
    expected: FloatArray,
    way: Way,
    mirror: NDArray[np.int_],
    line: FloatArray,
    straightedge_um: float,
) -> ReversalCheck:
    ratio = log_ratio(half, u, without_both(expected, line))
    difference = 2e3 * float(np.sqrt(np.mean(half**2)))
    if ratio < -CLEAR:
        raise RailError(
            f"the reversed scan was not reversed: it differs from the first by {difference:.2f} "
            f"µm rms where a straightedge of {straightedge_um:g} µm turned ({way}) would differ "
            f"by more (log likelihood ratio {ratio:.1f}, refused under {-CLEAR:.1f}); turn it and "
            "scan again, or state a smaller error if it is that straight"
        )
    verdict: Verdict = "turned" if ratio > CLEAR else "undecided"
    uneven, chance = float("nan"), float("nan")
    if way == "ends":
        even = without(0.5 * (half + half[mirror]), line)
        uneven = 2e3 * float(np.sqrt(np.mean(even**2)))
        chance = _chance_of_even(even, u)
    return ReversalCheck(verdict, ratio, difference, uneven, chance)


def log_ratio(half: FloatArray, u: FloatArray, expected: FloatArray) -> float:
    """Log likelihood of half the difference with a straightedge in it, over that of noise alone.

    half, u: float[cells]; expected: float[cells, cells], covariance of what turning would show.
    Taken along the expected shape's own modes, where noise of the cells averages out and
    SETTLE_MM is what is left.
    """
    values, modes = np.linalg.eigh(expected)
    real = values > 1e-6 * max(float(values[-1]), 1e-18)
    values, modes = values[real], modes[:, real]
    noise = (modes**2).T @ u**2 + SETTLE_MM**2 * half.size / max(values.size, 1)
    found = (modes.T @ half) ** 2
    gain = found * (1.0 / noise - 1.0 / (noise + values)) - np.log1p(values / noise)
    return 0.5 * float(np.sum(gain))


def _chance_of_even(even: FloatArray, u: FloatArray) -> float:
    """Chance of as large an even part, over shapes as long as a straightedge bends in."""
    x = np.linspace(-1.0, 1.0, even.size)
    shapes = orthonormal(np.polynomial.legendre.legvander(x, 8).T[2::2])
    # the even part holds half of the noise's variance, all of it in even shapes
    noise = shapes**2 @ u**2 + SETTLE_MM**2 * even.size / len(shapes)
    return float(chdtrc(len(shapes), float(np.sum((shapes @ even) ** 2 / noise))))


def _moved(half: FloatArray, mirror: NDArray[np.int_], check: ReversalCheck) -> FloatArray:
    """What an even difference adds: half of it may stand in the rail."""
    if not check.uneven_p < RARE:
        return np.zeros((half.size, half.size))
    even = 0.5 * (half + half[mirror])
    return np.outer(even, even)


def _words(way: Way, straightedge_um: float, middle: float, check: ReversalCheck) -> list[str]:
    words = ["a straight line: height and tilt of the straightedge in each scan"]
    if way == "ends":
        words.append(
            "the straightedge's even part about its middle "
            f"({middle:.0f} mm), its bow above all, which stays in the rail: {straightedge_um:g} "
            "µm of it are in the uncertainty"
        )
    if check.uneven_p < RARE:
        words.append(
            f"the scans differ by an even part of {check.uneven_um:.2f} µm rms, which turning end "
            "for end cannot make: it moved or bent on its supports; that is in the uncertainty"
        )
    if check.verdict == "undecided":
        words.append(
            f"the scans differ by {check.difference_um:.2f} µm rms, too little to show that the "
            f"straightedge was turned (log likelihood ratio {check.log_ratio:.1f})"
        )
    return words
