"""The removal law: what a hand takes off when it means to take something."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: What a hand takes that means to take nothing, standard deviation (own choice).
NOTHING_UM = 0.5


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
    """A straight line with errors in both (York et al., Am. J. Phys. 72 (2004) 367), robustly.

    A hand that means to take nothing takes nothing: the point (0, 0), good to NOTHING_UM, is
    part of the fit, or a few cuts of like depth could trade gain against offset freely.
    The hand's own scatter is added to every cut's uncertainty: the least that brings chi-square
    down to its degrees of freedom. Slips, over 5 deviations off a median-slope line (Theil and
    Sen), are no law and are left out before. Raises ValueError with fewer than 3 cuts.
    """
    good = np.isfinite(planned_um) & np.isfinite(achieved_um)
    x, y, ux, uy = (a[good] for a in (planned_um, achieved_um, u_planned_um, u_achieved_um))
    if x.size < 3 or np.ptp(x) < 1e-9:
        raise ValueError("a law needs at least 3 cuts of different depth")
    kept = _no_slip(x, y, np.hypot(ux, uy))
    x, y, ux, uy = x[kept], y[kept], ux[kept], uy[kept]
    if x.size < 3 or np.ptp(x) < 1e-9:
        raise ValueError("too few cuts agree with one another to be a law")
    scatter = 0.0
    for _ in range(20):
        variance_y = np.append(uy**2 + scatter**2, NOTHING_UM**2)
        gain, offset, covariance = _york(
            np.append(x, 0.0), np.append(y, 0.0), np.append(ux**2, 0.0), variance_y
        )
        off = y - offset - gain * x
        measured = uy**2 + (gain * ux) ** 2
        excess = float(np.sum(off**2 - measured)) / max(x.size - 2, 1)
        scatter = float(np.sqrt(max(excess, 0.0)))
    u_offset, u_gain = np.sqrt(np.diag(covariance))
    return Law(gain, float(u_gain), offset, float(u_offset), scatter, int(x.size))


def _no_slip(x: FloatArray, y: FloatArray, u: FloatArray) -> NDArray[np.bool_]:
    """Cuts near the median-slope line. A spread of zero (rounded values) is held at u."""
    i, j = np.triu_indices(x.size, 1)
    apart = x[i] != x[j]
    gain = float(np.median((y[i] - y[j])[apart] / (x[i] - x[j])[apart]))
    off = y - gain * x
    off -= np.median(y) - gain * np.median(x)
    spread = 1.4826 * float(np.median(np.abs(off - np.median(off))))
    kept: NDArray[np.bool_] = np.abs(off) <= 5.0 * np.maximum(spread, u) + 1e-9
    return kept


def _york(
    x: FloatArray, y: FloatArray, variance_x: FloatArray, variance_y: FloatArray
) -> tuple[float, float, FloatArray]:
    """Gain, offset and their covariance (offset first) by York's unified equations, r = 0."""
    variance_y = np.maximum(variance_y, 1e-12)
    gain = float(np.polyfit(x, y, 1)[0])
    for _ in range(50):
        weight = 1.0 / (variance_y + gain**2 * variance_x)
        middle_x, middle_y = np.average(x, weights=weight), np.average(y, weights=weight)
        dx, dy = x - middle_x, y - middle_y
        beta = weight * (dx * variance_y + gain * dy * variance_x)
        before, gain = gain, float(np.sum(weight * beta * dy) / np.sum(weight * beta * dx))
        if abs(gain - before) < 1e-12:
            break
    adjusted = middle_x + beta
    centre = float(np.average(adjusted, weights=weight))
    var_gain = 1.0 / float(np.sum(weight * (adjusted - centre) ** 2))
    var_offset = 1.0 / float(np.sum(weight)) + centre**2 * var_gain
    covariance = np.array([[var_offset, -centre * var_gain], [-centre * var_gain, var_gain]])
    return gain, float(middle_y - gain * middle_x), covariance


def aim_um(wanted_um: FloatArray, law: Law | None) -> FloatArray:
    """What to mean to take so that `wanted_um` comes off, by the law; never over-reaching.

    Twice the law's own uncertainty and the hand's scatter are left standing: one more pass is
    cheap, a fret cut too low is not. Without a law the aim is what is wanted. The aim does not
    drop under half of what is wanted, or a small cut would never be made, unless even that
    would land past it: then it is 0, and the cut asks for a finer tool.
    """
    if law is None:
        return wanted_um
    gain = max(law.gain, 0.2)
    plain = (wanted_um - law.offset_um) / gain
    doubt = 2.0 * np.hypot(law.u_gain * plain, law.u_offset_um) + law.scatter_um
    aim = np.maximum(plain - doubt / gain, 0.5 * wanted_um)
    lands = law.offset_um + law.gain * aim
    return np.where((wanted_um > 0) & (lands <= wanted_um), aim, 0.0)
