"""The removal law: what a hand takes off when it means to take something."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray


@dataclass(frozen=True, slots=True)
class Law:
    """achieved = offset + gain * planned, with standard uncertainties and scatter.

    scatter_um: how far a single cut lies off the law, measuring uncertainty taken out.
    """

    gain: float
    u_gain: float
    offset_um: float
    u_offset_um: float
    scatter_um: float
    cuts: int


def fit_law(
    planned_um: FloatArray,
    achieved_um: FloatArray,
    u_planned_um: FloatArray,
    u_achieved_um: FloatArray,
) -> Law:
    """A line with errors in both (York's weights, iterated), and what the hand scatters.

    Weights 1 / (u_achieved^2 + gain^2 u_planned^2 + scatter^2); the scatter is the least that
    brings chi-square down to its degrees of freedom. Cuts further than 5 deviations off are
    slips, not law, and are left out. Raises ValueError with fewer than 3 cuts.
    """
    good = np.isfinite(planned_um) & np.isfinite(achieved_um)
    x, y = planned_um[good], achieved_um[good]
    ux, uy = u_planned_um[good], u_achieved_um[good]
    if x.size < 3 or np.ptp(x) < 1e-9:
        raise ValueError("a law needs at least 3 cuts of different depth")
    gain, scatter = 1.0, 0.0
    keep = np.ones(x.size, dtype=bool)
    for _ in range(30):
        variance = uy**2 + (gain * ux) ** 2 + scatter**2
        fit, covariance = _line(x[keep], y[keep], variance[keep])
        off = y - fit[0] - fit[1] * x
        free = max(int(keep.sum()) - 2, 1)
        excess = float(np.sum(off[keep] ** 2 - (variance[keep] - scatter**2))) / free
        scatter = float(np.sqrt(max(excess, 0.0)))
        limit = 5.0 * np.sqrt(variance)
        keep = np.abs(off) <= limit if np.count_nonzero(np.abs(off) <= limit) >= 3 else keep
        gain = float(fit[1])
    u_offset, u_gain = np.sqrt(np.diag(covariance))
    return Law(gain, float(u_gain), float(fit[0]), float(u_offset), scatter, int(keep.sum()))


def _line(x: FloatArray, y: FloatArray, variance: FloatArray) -> tuple[FloatArray, FloatArray]:
    weight = 1.0 / np.sqrt(np.maximum(variance, 1e-12))
    design = np.column_stack([np.ones_like(x), x]) * weight[:, None]
    covariance = np.linalg.inv(design.T @ design)
    return covariance @ design.T @ (y * weight), covariance


def aim_um(wanted_um: FloatArray, law: Law | None) -> FloatArray:
    """What to mean to take so that `wanted_um` comes off, by the law; never over-reaching.

    Twice the law's own uncertainty and the hand's scatter are left standing: one more pass is
    cheap, a fret cut too low is not. Without a law the aim is what is wanted. The aim never
    drops under half of what is wanted, or a small cut would never be made.
    """
    if law is None:
        return wanted_um
    doubt = 2.0 * np.sqrt((law.u_gain * wanted_um) ** 2 + law.u_offset_um**2)
    aim = (wanted_um - law.offset_um - doubt - law.scatter_um) / max(law.gain, 0.2)
    return np.where(wanted_um > 0, np.maximum(aim, 0.5 * wanted_um), 0.0)
