"""How still a still sensor stays, and how often it must come back to a pad."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray

#: Averaging lengths tried between a pad reading and a quarter of the record.
_LENGTHS = 60


def allan_deviation(z_mm: FloatArray, m: NDArray[np.int_]) -> FloatArray:
    """Overlapping Allan deviation of a still sensor: float[len(m)], mm.

    z_mm: float[n], evenly spaced readings. m: int[k], readings averaged, 1 to n / 2; the
    averaging time is m times the readings' spacing, and nothing else depends on that spacing.

    sigma^2 = sum over j of (mean of the m readings from j + m, less that of the m from j)^2,
    over 2 (n - 2m + 1): W. J. Riley, NIST SP 1065 (2008), the overlapping Allan variance, the
    readings in the place of its frequency values. White noise falls as 1 / sqrt(m); a steady
    drift a per second rises as a tau / sqrt(2).

    Raises ValueError for a missing reading or an m out of range.
    """
    lengths = _checked(z_mm, m, 2)
    # about the mean: a sum of thousands of millimetres would cost the micrometres their digits
    total = np.concatenate([[0.0], np.cumsum(z_mm - np.mean(z_mm))])
    return np.array([_deviation(total, int(length)) for length in lengths])


def _checked(z_mm: FloatArray, m: NDArray[np.int_], parts: int) -> NDArray[np.int_]:
    """The lengths, if the record holds `parts` averages of each and no holes."""
    lengths = np.asarray(m, dtype=int)
    if not np.isfinite(z_mm).all():
        raise ValueError("a deviation of averages needs every reading; some are missing")
    most = z_mm.size // parts
    if lengths.size and not 1 <= lengths.min() <= lengths.max() <= most:
        raise ValueError(f"m: found {lengths.min()} to {lengths.max()}; allowed 1 to {most}")
    return lengths


def _deviation(total: FloatArray, m: int) -> float:
    steps = total[2 * m :] - 2.0 * total[m:-m] + total[: -2 * m]
    return float(np.sqrt(np.mean(steps**2) / 2.0)) / m


def hadamard_deviation(z_mm: FloatArray, m: NDArray[np.int_]) -> FloatArray:
    """Overlapping Hadamard deviation of a still sensor: float[len(m)], mm.

    sigma^2 = sum over j of (mean of the m readings from j + 2m, less twice that from j + m,
    plus that from j)^2, over 6 (n - 3m + 1): W. J. Riley, NIST SP 1065 (2008), the overlapping
    Hadamard variance. It does not see a steady drift, as a scan between two pads does not. White
    noise falls as 1 / sqrt(m). Arguments as for `allan_deviation`, m up to n / 3.

    Raises ValueError for a missing reading or an m out of range.
    """
    lengths = _checked(z_mm, m, 3)
    total = np.concatenate([[0.0], np.cumsum(z_mm - np.mean(z_mm))])
    return np.array([_third_differences(total, int(length)) for length in lengths])


def _third_differences(total: FloatArray, m: int) -> float:
    a, b, c, d = (total[k * m : total.size - (3 - k) * m] for k in range(4))
    return float(np.sqrt(np.mean((d - 3.0 * c + 3.0 * b - a) ** 2) / 6.0)) / m


def pad_noise_mm(z_mm: FloatArray, pad_readings: int, quantum_mm: float) -> float:
    """Standard deviation of the mean of a pad's readings, from a still sensor.

    White noise averages down with the root of the readings. A sensor that is quieter than half
    its own step does not: its rounding, quantum / sqrt(12), stays however many are averaged.
    """
    single = float(allan_deviation(z_mm, np.array([1]))[0])
    if single < quantum_mm / 2.0:
        return float(quantum_mm / np.sqrt(12.0))
    return single / float(np.sqrt(pad_readings))


def drift_advice_s(z_mm: FloatArray, tau0_s: float, pad_readings: int, quantum_mm: float) -> float:
    """The longest time between pads for which drift stays under the noise of a pad reading, s.

    z_mm: float[n], a still sensor read every tau0_s. pad_readings: readings in one visit to a
    pad. quantum_mm: the sensor's smallest step.

    Rule: a straight line between two pads, which the session's smoother is never worse than
    (`calibration.drift.model`), leaves only the bending of the drift.
    In the middle of a time T = 2 tau that is half a second difference of averages tau apart,
    sqrt(6) sigma_H(tau) / 2 by the Hadamard deviation's definition; white noise, sigma(1) /
    sqrt(m), is taken out of it in squares. The answer is the longest T before that first exceeds
    `pad_noise_mm`, from two visits to a third of the record; where nothing shows, a third of
    the record: watch longer to know more.

    Raises ValueError where the record is shorter than twelve visits, or has missing readings.
    """
    longest = z_mm.size // 6
    if longest < 2 * pad_readings:
        raise ValueError(
            f"{z_mm.size} readings of a still sensor; with {pad_readings} readings on a pad the "
            f"advice needs at least {12 * pad_readings}"
        )
    m = np.unique(np.geomspace(pad_readings, longest, _LENGTHS).round().astype(int))
    white = float(allan_deviation(z_mm, np.array([1]))[0]) ** 2 / m
    left = np.sqrt(1.5 * np.clip(hadamard_deviation(z_mm, m) ** 2 - white, 0.0, None))
    over = np.flatnonzero(left > pad_noise_mm(z_mm, pad_readings, quantum_mm))
    last = m.size - 1 if over.size == 0 else max(int(over[0]) - 1, 0)
    return float(2.0 * m[last] * tau0_s)
