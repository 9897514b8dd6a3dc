"""Words for the shapes a rail estimate is blind to."""

from __future__ import annotations

import numpy as np

from calibration.passes import FloatArray
from calibration.rail.estimate import orthonormal, polynomials, without

#: A shape of which this share lies in the blind ones is called blind.
SHARE = 0.9
NAMES = ("offset", "slope", "bow (parabola)")


def describe_blind(x_mm: FloatArray, free: FloatArray) -> str:
    """The blind shapes by name; what is left over by the periods it has most of.

    x_mm: float[cells]; free: float[shapes, cells], orthonormal.
    """
    if not len(free):
        return "nothing"
    basis = orthonormal(polynomials(x_mm, 2))
    inside = np.sum((basis @ free.T) ** 2, axis=1)
    named = inside > SHARE
    words = [name for name, yes in zip(NAMES, named, strict=True) if yes]
    rest = without(free, basis[named])
    left = float(np.sum(rest**2))
    if left > 0.5:
        periods = ", ".join(f"{p:.3g}" for p in _periods_mm(x_mm, rest))
        words.append(f"{left:.0f} shapes more, mostly waves with periods of {periods} mm")
    return ", ".join(words)


def _periods_mm(x_mm: FloatArray, shapes: FloatArray) -> FloatArray:
    """Up to four periods in which the shapes have most of their power, longest first."""
    even = np.linspace(x_mm[0], x_mm[-1], x_mm.size)
    power = np.zeros(even.size // 2 + 1)
    for shape in shapes:
        power += np.abs(np.fft.rfft(np.interp(even, x_mm, shape) * np.hanning(even.size))) ** 2
    power[0] = 0.0
    peaks = np.flatnonzero((power[1:-1] >= power[:-2]) & (power[1:-1] >= power[2:])) + 1
    if peaks.size == 0:
        peaks = np.array([int(np.argmax(power))])
    best = peaks[np.argsort(power[peaks])[-4:]]
    strong = best[power[best] > 0.1 * power.max()]
    length = float(even[-1] - even[0])
    return np.sort(length / strong)[::-1]
