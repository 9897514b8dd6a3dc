"""Drift from the pads: each pass starts on ground steel and ends on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray, Pad, RawPass

#: Left out at each pad edge: the ball rounds the edge, and lag and backlash blur it.
PAD_MARGIN_MM = 2.5


@dataclass(frozen=True, slots=True)
class PadVisits:
    """What each pass read on each pad.

    t_s, z_mm, u_mm: float[passes, pads]; NaN where a pass did not reach a pad.
    """

    t_s: FloatArray
    z_mm: FloatArray
    u_mm: FloatArray


@dataclass(frozen=True, slots=True)
class Drift:
    """How far each pass had drifted from the session's mean, as a line over time.

    t_s, drift_mm, u_mm: float[passes, pads], the nodes of each pass's line.
    """

    t_s: FloatArray
    drift_mm: FloatArray
    u_mm: FloatArray

    def at(self, number: int, t_s: FloatArray) -> FloatArray:
        """Drift of pass `number` at device times `t_s`, mm; straight between its pads."""
        good = np.isfinite(self.drift_mm[number])
        if not good.any():
            return np.zeros_like(t_s)
        nodes, values = self.t_s[number, good], self.drift_mm[number, good]
        if nodes.size == 1:
            return np.full_like(t_s, values[0])
        slope, offset = np.polyfit(nodes - nodes[0], values, 1)
        return np.asarray(offset + slope * (t_s - nodes[0]))

    def u_of(self, number: int) -> float:
        """Standard uncertainty of a pass's drift line at its middle, mm."""
        u = self.u_mm[number][np.isfinite(self.u_mm[number])]
        return float(np.sqrt(np.sum(u**2)) / max(u.size, 1)) if u.size else 0.0


def robust_mean(values: FloatArray) -> tuple[float, float]:
    """Mean and its standard uncertainty, with readings past 4 robust deviations left out.

    With a median deviation of zero (quantised readings) nothing is left out.
    """
    middle = np.median(values)
    spread = 1.4826 * np.median(np.abs(values - middle))
    kept = values if spread == 0 else values[np.abs(values - middle) <= 4.0 * spread]
    scatter = float(np.std(kept, ddof=1)) if kept.size > 1 else 0.0
    return float(np.mean(kept)), scatter / np.sqrt(kept.size)


def visit_pads(passes: Sequence[RawPass], pads: Sequence[Pad]) -> PadVisits:
    """Reads every pad in every pass; at least 8 valid readings make a visit."""
    shape = (len(passes), len(pads))
    t_s, z_mm, u_mm = (np.full(shape, np.nan) for _ in range(3))
    for i, one in enumerate(passes):
        for j, pad in enumerate(pads):
            on = (
                (one.x_mm > pad.from_mm + PAD_MARGIN_MM)
                & (one.x_mm < pad.to_mm - PAD_MARGIN_MM)
                & np.isfinite(one.z_mm)
            )
            if np.count_nonzero(on) >= 8:
                t_s[i, j] = np.mean(one.t_s[on])
                z_mm[i, j], u_mm[i, j] = robust_mean(one.z_mm[on])
    return PadVisits(t_s, z_mm, u_mm)


def fit_drift(visits: PadVisits) -> Drift:
    """Offset and slope of every pass against the session's mean reading of each pad."""
    seen = np.isfinite(visits.z_mm).any(axis=0)
    reference = np.full(visits.z_mm.shape[1], np.nan)
    if seen.any():
        reference[seen] = np.nanmean(visits.z_mm[:, seen], axis=0)
    return Drift(visits.t_s, visits.z_mm - reference, visits.u_mm)
