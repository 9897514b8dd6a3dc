"""The line each fret would have across without wear: what its lanes between the strings say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.board.arc import sagitta_mm
from analysis.instrument import FloatArray
from analysis.neck.neck import Neck

#: y is counted in this, mm: half a neck's width.
HALF_NECK_MM = 20.0
#: How far a fret's ends bend off the board's arc over half a neck's width, standard deviation,
#: mm: before looking (common practice, no source: frets are bent by hand to about the board's
#: radius and pressed down to it), and at least, however alike a scan's frets are.
BEND_MM, LEAST_BEND_MM = 0.02, 0.002
#: Huber's constant: 95 % as good as least squares, and a worn or dirty lane counts little.
HUBER = 1.345
ROUNDS = 20
#: Terms of a top's uncertainty that no other lane of the fret shares.
OWN = ("noise", "drift", "crown", "ways", "scans", "repeat")
#: Fewer lanes between the strings than this make no line.
FEWEST = 2
#: What all frets of a scan say of how uneven frets are counts as so many lanes in each.
LIKE_OTHERS = 4.0


@dataclass(frozen=True, slots=True)
class Unworn:
    """[frets, lanes]. off_mm: top less the line, below it negative, NaN where not known; for a
    lane between the strings the line is made without it. u_mm: standard uncertainty of off_mm
    as wear: of the top, of the line, and of how uneven a fret is that nothing has worn."""

    off_mm: FloatArray
    u_mm: FloatArray


def independent_mm(neck: Neck) -> FloatArray:
    """What a top has of its own and shares with no other lane of its fret, [frets, lanes]."""
    own = [neck.terms.parts[name] for name in OWN if name in neck.terms.parts]
    return np.asarray(np.sqrt(sum(np.square(part) for part in own)))


def unworn_lines(neck: Neck) -> Unworn:
    """Level, lean and a bend off the board's arc, by Huber's M-estimate over the gap lanes.

    How much frets bend, and how uneven they are about that, is seen on all frets of the scan
    (empirical Bayes). A fret's own scatter counts too, the more the more lanes it has: with three
    there is next to none to see, with two none.
    """
    y = neck.y_mm / HALF_NECK_MM
    z = neck.top_mm + sagitta_mm(neck.arc.radius_mm(neck.x_mm), neck.y_mm)
    z = z - neck.arc.slope(neck.x_mm, np.zeros_like(y)) * neck.y_mm
    seen = np.any(np.isfinite(z), axis=1, keepdims=True)
    level = np.nanmedian(np.where(seen, z, 0.0), axis=1)
    z, u = z - level[:, None], independent_mm(neck)
    gap = np.isfinite(z) & (neck.string % 1.0 > 0.0)
    known = np.count_nonzero(gap, axis=1) >= FEWEST
    if not known.any():
        return Unworn(np.full_like(z, np.nan), np.full_like(z, np.nan))
    line, u_line = np.full((2, *z.shape), np.nan)
    made = _Lines(y[known], np.where(gap, z, 0.0)[known], np.where(gap, u, np.inf)[known])
    line[known], u_line[known] = made.without_itself(np.nan_to_num(z)[known])
    return Unworn(np.where(np.isfinite(z), z - line, np.nan), np.hypot(u, u_line))


@dataclass(frozen=True, slots=True)
class _Lines:
    """y, z, u: [frets, lanes]; u is infinite for a lane that makes no line."""

    y: FloatArray
    z: FloatArray
    u: FloatArray

    def without_itself(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The line at every lane without that lane, and its u with unevenness. z: of all lanes."""
        rows = np.stack([np.ones_like(self.y), self.y, self.y**2], axis=-1)
        bend, usual, line = (0.0, BEND_MM), 0.0, self.z
        for _ in range(ROUNDS):
            weight = self._huber(line, usual)
            fit, inverse = self._fit(rows, weight, bend)
            line = np.einsum("fli,fi->fl", rows, fit)
            variance = np.einsum("fli,fij,flj->fl", rows, inverse, rows)
            # a lane's own share in its line (Sherman and Morrison)
            kept = np.clip(1.0 - weight * variance, 0.05, 1.0)
            usual = self._usual(line, kept)
            bend = _bend(fit[:, 2], inverse[:, 2, 2], bend[1])
        uneven = self._uneven(line, kept, usual)
        return z - (z - line) / kept, np.sqrt(uneven[:, None] + variance / kept)

    def _huber(self, line: FloatArray, usual: float) -> FloatArray:
        """Weights of lanes that lie so far off the last round's line."""
        spread = np.sqrt(self.u**2 + usual)
        far = np.abs(self.z - line) / spread
        return np.asarray(spread**-2.0 * np.minimum(1.0, HUBER / np.maximum(far, HUBER)))

    def _fit(
        self, rows: FloatArray, weight: FloatArray, bend: tuple[float, float]
    ) -> tuple[FloatArray, FloatArray]:
        """Coefficients and their covariance, with frets as bent as is usual."""
        normal = np.einsum("fl,fli,flj->fij", weight, rows, rows)
        inverse = np.linalg.inv(normal + np.diag([1e-9, 1e-9, bend[1] ** -2.0]))
        wanted = np.einsum("fl,fli->fi", weight * self.z, rows)
        wanted[:, 2] += bend[0] / bend[1] ** 2
        return np.einsum("fij,fj->fi", inverse, wanted), inverse

    def _usual(self, line: FloatArray, kept: FloatArray) -> float:
        """How uneven frets usually are, squared: scatter about their lines less its measuring."""
        used = np.isfinite(self.u)
        seen = 1.4826**2 * np.median(((self.z - line) ** 2 / kept)[used])
        return float(max(seen - np.median(self.u[used]) ** 2, 0.0))

    def _uneven(self, line: FloatArray, kept: FloatArray, usual: float) -> FloatArray:
        """Of each fret, squared, [frets]: what it shows and what is usual, by their lanes."""
        used = np.isfinite(self.u)
        quiet = np.median(self.u[used]) ** 2
        # a lane far off the line is worn, and says nothing of what is not
        capped = np.minimum((self.z - line) ** 2, 9.0 * (usual + quiet))
        shown = np.sum(np.where(used, capped, 0.0), axis=1)
        lanes = np.sum(np.where(used, kept, 0.0), axis=1)
        seen = (shown + LIKE_OTHERS * (usual + quiet)) / (lanes + LIKE_OTHERS)
        return np.asarray(np.maximum(seen - quiet, 0.0))


def _bend(fitted: FloatArray, variance: FloatArray, prior: float) -> tuple[float, float]:
    """Middle and spread of what frets bend, the prior's own pull and the noise taken out."""
    # of a fit under a prior, 1 - variance / prior^2 is the share that the readings decided
    share = np.clip(1.0 - variance / prior**2, 0.05, 1.0)
    middle = float(np.median(fitted))
    free = middle + (fitted - middle) / share
    seen = (1.4826 * float(np.median(np.abs(free - middle)))) ** 2
    noise = float(np.median(variance / share))
    return middle, float(np.clip(np.sqrt(max(seen - noise, 0.0)), LEAST_BEND_MM, BEND_MM))
