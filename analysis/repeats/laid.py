"""Scans of one state laid over their mean, and where that mean is to lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from analysis.instrument import FloatArray
from analysis.neck.neck import Neck
from analysis.repeats.lie import fit_lie
from analysis.repeats.places import Places, anew_mm, heights

#: The share of a Gaussian that lies below one deviation above its middle.
ONE_SIGMA = 0.8413


@dataclass(frozen=True, slots=True)
class Laid:
    """flat_mm, u_mm: [scans, points], every scan as it lies on the mean of all, and what each
    draws anew. lies: [scans, 7], coefficients taken off; covariances: [scans, 7, 7].
    """

    flat_mm: FloatArray
    u_mm: FloatArray
    lies: FloatArray
    covariances: FloatArray

    def lift_mm(self, places: Places) -> FloatArray:
        """[points]: from the mean's frame to the latest's, and the mean of all bends."""
        bends = places.bends @ self.lies.T
        return np.asarray(places.rows @ self.lies[-1] - bends[:, -1] + bends.mean(axis=1))

    def clamping_mm(self, places: Places) -> FloatArray:
        """[points]: standard uncertainty of the mean bend, by how far the bends scatter.

        What their own uncertainty makes of it is taken off. Few scans know their scatter badly:
        Student's t at one deviation (JCGM 100, G.3).
        """
        scans = len(self.lies)
        seen = np.var(places.bends @ self.lies.T, axis=1, ddof=1)
        own = np.einsum("pi,ij,pj->p", places.bends, self.covariances.mean(axis=0), places.bends)
        wide = float(stdtrit(scans - 1, ONE_SIGMA))
        return np.asarray(wide * np.sqrt(np.clip(seen - own, 0.0, None) / scans))


def lay(necks: Sequence[Neck], places: Places) -> Laid:
    """Twice: over the latest for a first mean, then over that mean, the latest too."""
    latest = necks[-1]
    stack = np.array([heights(neck, latest) for neck in necks])
    u = np.array([anew_mm(neck) for neck in necks])
    onto, u_onto = stack[-1], u[-1]
    for _ in range(2):
        found = [
            fit_lie(places.rows, z - onto, np.hypot(one, u_onto), places.is_board)
            for z, one in zip(stack, u, strict=True)
        ]
        lies = np.array([lie.coefficients for lie in found])
        flat = stack - lies @ places.rows.T
        onto, u_onto = _middle(flat), _middle(u) / np.sqrt(len(necks))
    return Laid(flat, u, lies, np.array([lie.covariance for lie in found]))


def _middle(values: FloatArray) -> FloatArray:
    """Median over the scans, NaN where none saw it."""
    known = np.isfinite(values)
    ordered = np.sort(np.where(known, values, np.inf), axis=0)
    count = known.sum(axis=0)
    low, high = np.maximum((count - 1) // 2, 0), np.minimum(count // 2, len(values) - 1)
    at = np.arange(values.shape[1])
    with np.errstate(invalid="ignore"):
        middle = 0.5 * (ordered[low, at] + ordered[high, at])
    return np.where(count > 0, middle, np.nan)
