"""What is wrong with the rig, each fault a number that can be set to nothing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from sim.instrument import FloatArray


@dataclass(frozen=True, slots=True)
class Faults:
    """Defaults are a fair homemade rig. 0 switches a fault off, `_one_in` ones too.

    rail_bow_mm: depth of the rail's bow over its travel.
    rail_wave_um: amplitude of the rail's waves together.
    drift_um_per_min: the sensor's steady drift; it wanders slowly about it in proportion.
    noise_um: rms of the sensor.
    lag_ms: a sample shows the surface where the carriage was this long before.
    backlash_mm: play between counts and carriage.
    screw_percent: how much further the carriage goes than its counts say.
    bad_frame_one_in: samples to one lost or damaged, half and half.
    bad_reply_one_in: answers and events to one lost.
    spike_one_in: samples to one spike of 0.05 to 0.5 mm up or down.
    """

    rail_bow_mm: float = 0.07
    rail_wave_um: float = 9.0
    drift_um_per_min: float = 6.0
    noise_um: float = 1.5
    lag_ms: float = 3.5
    backlash_mm: float = 0.045
    screw_percent: float = 0.04
    bad_frame_one_in: int = 500
    bad_reply_one_in: int = 0
    spike_one_in: int = 2500

    @staticmethod
    def none() -> Faults:
        """A perfect rig; only its counts are still whole."""
        return Faults(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0, 0, 0)


def drift_mm(faults: Faults, t_s: FloatArray) -> FloatArray:
    """Zero at power-on; the wander is a few um when the drift is 6 um a minute."""
    wander = 0.33 * np.sin(2.0 * np.pi * t_s / 410.0) + 0.2 * np.sin(2.0 * np.pi * t_s / 150.0)
    return np.asarray(1e-3 * faults.drift_um_per_min * (t_s / 60.0 + wander), dtype=float)


def happens(one_in: int, count: int, rng: Generator) -> NDArray[np.bool_]:
    """bool[count]: true for one in so many, never for 0."""
    return rng.random(count) * one_in < (1.0 if one_in else 0.0)


def spikes_mm(faults: Faults, count: int, rng: Generator) -> FloatArray:
    hit = happens(faults.spike_one_in, count, rng)
    size = rng.uniform(0.05, 0.5, count) * rng.choice([-1.0, 1.0], count)
    return np.where(hit, size, 0.0)


def spoil(lines: list[bytes], faults: Faults, rng: Generator) -> list[bytes]:
    """The lines as they leave a poor cable: some missing, some flipped, cut or run together.

    The last line keeps its line feed, so that what follows the lines is not hurt.
    """
    for index in np.flatnonzero(happens(faults.bad_frame_one_in, len(lines), rng)).tolist():
        lines[index] = b"" if rng.random() < 0.5 else _damaged(lines[index], rng)
        if index < len(lines) - 1 and lines[index] and rng.random() < 1.0 / 3.0:
            lines[index] = lines[index].rstrip(b"\n")
    return lines


def _damaged(line: bytes, rng: Generator) -> bytes:
    """One bit wrong, or cut short; the line feed stays."""
    at = int(rng.integers(1, len(line) - 1))
    if rng.random() < 0.5:
        return line[:at] + b"\n"
    return line[:at] + bytes([line[at] ^ (1 << int(rng.integers(0, 7)))]) + line[at + 1 :]
