"""Passes laid over one another: places are found by what makes all readings one surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import convolve1d
from scipy.special import chdtri

from calibration.lag.knots import KnotLine
from calibration.lag.say import even_noise_mm, say
from calibration.passes import FloatArray

#: Knots no closer than this, nor than 4 readings of all passes together to a knot.
KNOT_MM = 0.08
_READINGS_PER_KNOT = 4.0
#: Errors of a pass within this much of one another go together, the less the further apart:
#: counts rounded alike, shapes no spline follows. About a crown, and less than from fret to fret.
ALIKE_MM, _CELL_MM = 8.0, 0.25
#: Passes that stand apart by more than chance allows once in so many do not repeat.
UNLIKELY = 0.01
#: How far off one another passes may start.
START_MM = 0.02
_ROUNDS, _CLOSE_MM = 20, 1e-5
_HEARD = 0.1


@dataclass(frozen=True, slots=True)
class Readings:
    """All passes over one surface, one after the other.

    x_mm, z_mm: float[n]. moves: float[n, k], how far a unit of each unknown puts a reading's
    place to the left: place = x - moves @ unknowns. pass_of: int[n], which pass it is from.
    """

    x_mm: FloatArray
    z_mm: FloatArray
    moves: FloatArray
    pass_of: NDArray[np.int_]

    @property
    def passes(self) -> int:
        return int(self.pass_of.max()) + 1

    def some(self, chosen: NDArray[np.bool_]) -> Readings:
        """Those chosen, bool[n]."""
        return Readings(
            self.x_mm[chosen], self.z_mm[chosen], self.moves[chosen], self.pass_of[chosen]
        )


@dataclass(frozen=True, slots=True)
class LaidOver:
    """unknowns: float[k]; covariance: [k, k], from how the readings scatter about the surface.

    pull: float[k, passes], how the unknowns answer to a pass standing 1 mm off as a whole.
    apart_mm: float[passes], how far each pass still stands from the surface, along the travel.
    height_mm: rms of the readings about the surface. energy_mm: slope energy of the shape
    (integral of slope^2), and what noise alone would make of an even surface.
    """

    unknowns: FloatArray
    covariance: FloatArray
    pull: FloatArray
    apart_mm: FloatArray
    height_mm: float
    energy_mm: float
    noise_energy_mm: float


@dataclass(frozen=True, slots=True)
class _Round:
    """One linearisation, float[n] each; answers: float[n, k].

    say: from 0 to 1; due_mm: scatter due of a reading. answers: what of each unknown's effect on
    the heights is its own, and no surface's or drift's.
    """

    place_mm: FloatArray
    say: FloatArray
    due_mm: FloatArray
    slope: FloatArray
    off_mm: FloatArray
    answers: FloatArray

    @property
    def weight(self) -> FloatArray:
        return self.say / self.due_mm**2

    @property
    def heard(self) -> NDArray[np.bool_]:
        return self.say > _HEARD

    def inverse(self) -> FloatArray:
        normal = self.answers.T @ (self.weight[:, None] * self.answers)
        return np.linalg.pinv(normal, hermitian=True)

    def step(self) -> FloatArray:
        return np.asarray(self.inverse() @ self.answers.T @ (self.weight * self.off_mm))


def lay_over(data: Readings, u_place_mm: float, u_pass_mm: FloatArray) -> LaidOver:
    """The unknowns under which all readings lie on one smooth curve, starting from 0.

    Least squares over unknowns and surface together: the surface is a cubic spline, each pass
    has an offset and a slope of its own (drift), and both are projected out (variable
    projection: Golub and Pereyra, SIAM J. Numer. Anal. 10 (1973) 413; the step is Kaufman's,
    BIT 15 (1975) 49). So nothing is interpolated, and an unknown surface costs what it must and
    no more. Edges, strings and wild readings lose their say (`calibration.lag.say`).

    u_place_mm: scatter of a reading's place along the travel (rounded counts).
    u_pass_mm: float[passes], uncertainty of a whole pass's place (`calibration.lag.rounding`).
    Passes must start within a tenth of a crown's width of one another.
    """
    line = KnotLine.over(data.x_mm, max(KNOT_MM, _READINGS_PER_KNOT / _density(data)))
    unknowns = np.zeros(data.moves.shape[1])
    even = np.ones(data.x_mm.size)
    now, doubt = _round(data, line, unknowns, even, even), START_MM
    for _ in range(_ROUNDS):
        step = now.step()
        unknowns = unknowns + step
        off = now.off_mm - now.answers @ step
        due = np.hypot(even_noise_mm(off, now.slope), now.slope * doubt)
        heard = say(data.x_mm - data.moves @ unknowns, off, due, now.slope)
        now = _round(data, line, unknowns, heard, due)
        moved = float(np.max(np.abs(data.moves @ step)))
        # as long as passes do not lie over one another, their flanks are off for that alone
        doubt = float(np.linalg.norm([u_place_mm, moved, _rms(_apart(data, now)[0])]))
        if moved < _CLOSE_MM:
            break
    return _result(unknowns, data, now, line, u_pass_mm)


def _density(data: Readings) -> float:
    """Readings to a millimetre of surface, of all passes together; gaps are no surface."""
    seen = np.unique((data.x_mm - data.x_mm.min()).astype(int)).size
    return data.x_mm.size / max(seen, 1)


def _round(
    data: Readings, line: KnotLine, unknowns: FloatArray, heard: FloatArray, due: FloatArray
) -> _Round:
    place, weight = data.x_mm - data.moves @ unknowns, heard / due**2
    fit = line.settle(place, weight)
    level, slope = fit.curve(data.z_mm)
    own = fit.rid(_own_columns(data))
    answers, off = fit.rid(-slope[:, None] * data.moves), data.z_mm - level
    normal = np.linalg.pinv(own.T @ (weight[:, None] * own), rcond=1e-9, hermitian=True)

    def without_own(columns: FloatArray) -> FloatArray:
        return np.asarray(columns - own @ (normal @ (own.T @ (weight * columns.T).T)))

    return _Round(place, heard, due, slope, without_own(off), without_own(answers))


def _own_columns(data: Readings) -> FloatArray:
    """Offset and slope of every pass but the first, which holds the surface."""
    share = (data.x_mm - data.x_mm.mean()) / max(float(np.ptp(data.x_mm)), 1.0)
    others = data.pass_of[:, None] == np.arange(1, data.passes)
    return np.column_stack([others, share[:, None] * others]).astype(float)


def _result(
    unknowns: FloatArray, data: Readings, last: _Round, line: KnotLine, u_pass_mm: FloatArray
) -> LaidOver:
    count = max(int(np.count_nonzero(last.heard)), 1)
    knots = line.knots_heard(last.place_mm, last.heard)
    free = max(1.0 - (knots + unknowns.size + 2 * (data.passes - 1)) / count, 0.05)
    grown = float(np.sum(last.weight * last.off_mm**2)) / (free * count)
    inverse = last.inverse()
    pull = inverse @ _by_pass(data, last.answers * (last.weight * -last.slope)[:, None])
    apart, u_apart = _apart(data, last)
    due = grown * u_apart**2 + u_pass_mm**2
    extra = _beyond_chance(apart, due, data.passes - 1 - unknowns.size)
    length = knots * line.step_mm
    noise = even_noise_mm(last.off_mm, last.slope)
    return LaidOver(
        unknowns=unknowns,
        covariance=_alike(data, last, inverse) / free + (pull * (u_pass_mm**2 + extra)) @ pull.T,
        pull=pull,
        apart_mm=apart,
        height_mm=_rms(last.off_mm[last.heard]),
        energy_mm=float(np.sum(last.slope[last.heard] ** 2)) * length / count,
        # white noise through a spline of step h: 2 int_0^(1/2h) (2 pi f)^2 df per mm
        noise_energy_mm=3.29 * noise**2 * length**2 / (count * line.step_mm**3),
    )


def _rms(values: FloatArray) -> float:
    return float(np.sqrt(np.mean(values**2))) if values.size else 0.0


def _by_pass(data: Readings, columns: FloatArray) -> FloatArray:
    """Sums of float[n, k] over each pass: [k, passes]."""
    sums = [np.bincount(data.pass_of, column, minlength=data.passes) for column in columns.T]
    return np.array(sums)


def _alike(data: Readings, last: _Round, inverse: FloatArray) -> FloatArray:
    """Covariance from the residuals as they are, errors near one another in a pass being alike.

    White, Econometrica 48 (1980) 817, with a triangle of ALIKE_MM for what goes together (Newey
    and West, Econometrica 55 (1987) 703). The surface follows each pass by the pass's share of
    all that is known, which shrinks its residuals; the unknowns shrink them a little more.
    """
    share = np.bincount(data.pass_of, last.weight * last.slope**2, minlength=data.passes)
    left = 1.0 - np.minimum(share / max(float(share.sum()), 1e-300), 0.9)
    grown = last.weight * last.off_mm / np.sqrt(left)[data.pass_of]
    cell = ((last.place_mm - last.place_mm.min()) / _CELL_MM).astype(int)
    shape = (data.passes, int(cell.max()) + 1)
    index = data.pass_of * shape[1] + cell
    sums = np.array(
        [np.bincount(index, a * grown, minlength=shape[0] * shape[1]) for a in last.answers.T]
    ).reshape(-1, *shape)
    reach = round(ALIKE_MM / _CELL_MM)
    triangle = 1.0 - np.abs(np.arange(1 - reach, reach)) / reach
    near = convolve1d(sums, triangle, axis=2, mode="constant")
    stretches = np.unique(index).size / reach
    free = max(1.0 - sums.shape[0] / max(stretches, 1.0), 0.1)
    return np.asarray(inverse @ np.einsum("ipc,jpc->ij", sums, near) @ inverse / free)


def _apart(data: Readings, last: _Round) -> tuple[FloatArray, FloatArray]:
    """How far each pass stands off along the travel, and its u, mm; float[passes] each."""
    steep = last.weight * last.slope
    score, information = _by_pass(data, np.column_stack([-steep * last.off_mm, steep * last.slope]))
    information = np.maximum(information, 1e-300)
    return score / information, np.sqrt(1.0 / information)


def _beyond_chance(apart_mm: FloatArray, due: FloatArray, free: int) -> float:
    """Variance with which passes stand apart beyond what is due, mm^2.

    0 unless they do so by more than chance allows; with few passes it grows by n / (n - 2), as
    a variance from n degrees of freedom must.
    """
    excess = float(np.sum(apart_mm**2 / due))
    if free < 1 or excess < float(chdtri(free, UNLIKELY)):
        return 0.0
    return (excess / free - 1.0) * float(np.mean(due)) * free / max(free - 2, 1)
