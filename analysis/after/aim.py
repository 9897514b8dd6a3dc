"""What to mean to take, so that no more comes off than is wanted."""

from __future__ import annotations

import numpy as np

from analysis.after.law import Law
from analysis.instrument import FloatArray

#: How surely a cut ends at or above what is wanted: 95 %, one-sided (ISO 14253-1:2017's default,
#: from memory; the quantile is the normal's).
SURELY = 1.645


def aim_um(wanted_um: FloatArray, law: Law | None) -> FloatArray:
    """What to mean to take so that 95 of 100 cuts take no more than `wanted_um`.

    In doubt are the law, the day and the hand's single cut: one more pass is cheap, a fret cut
    too low is not. Never negative, never falling as more is wanted. Without a law the aim is
    what is wanted. A law is only asked for depths it has seen: what lies deeper is taken to come
    off whole, or faster, and a cut lighter than any is never aimed past what is wanted. 0 where
    nothing can be aimed at that surely, because the hand scatters as much as is wanted.
    """
    if law is None:
        return wanted_um
    aim = _by_law(wanted_um, law)
    deepest = law.deepest_um
    if np.isfinite(deepest):
        over = wanted_um - sure_um(np.array(deepest), law)
        beyond = deepest + over / max(_steepest(law), 1.0)
        aim = np.where(over > 0, np.minimum(aim, beyond), aim)
    light = aim < law.shallowest_um
    return np.where(light, np.minimum(aim, wanted_um), aim)


def sure_um(aim: FloatArray, law: Law) -> FloatArray:
    """What 95 of 100 cuts so aimed do not take more than."""
    variance, shared, gain_variance = _doubts(law)
    doubt = np.sqrt(variance + 2.0 * shared * aim + gain_variance * aim**2)
    return np.asarray(law.offset_um + law.gain * aim + SURELY * doubt)


def _doubts(law: Law) -> tuple[float, float, float]:
    """Variance of what comes off at no depth, covariance with the gain, variance of the gain."""
    shared = law.correlation * law.u_gain * law.u_offset_um
    return law.u_offset_um**2 + law.scatter_um**2, shared, law.u_gain**2 + law.day_gain**2


def _steepest(law: Law) -> float:
    return law.gain + SURELY * float(np.hypot(law.u_gain, law.day_gain))


def _by_law(wanted_um: FloatArray, law: Law) -> FloatArray:
    """The aim at which `sure_um` is what is wanted: the smaller root of a parabola."""
    variance, shared, gain_variance = _doubts(law)
    square = law.gain**2 - SURELY**2 * gain_variance
    if law.gain <= 0 or square <= 0:
        return np.zeros_like(wanted_um)
    room = wanted_um - law.offset_um
    half = law.gain * room + SURELY**2 * shared
    rest = room**2 - SURELY**2 * variance
    root = np.sqrt(np.clip(half**2 - square * rest, 0.0, None))
    can = (wanted_um > 0) & (room > 0) & (rest > 0)
    return np.where(can, rest / np.where(can, half + root, 1.0), 0.0)
