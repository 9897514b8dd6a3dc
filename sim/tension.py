"""Strings at pitch: how heavy, how taut, how far they sag and how even they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.crown import IntArray
from sim.instrument import FloatArray, Instrument

STEEL_KG_PER_M3 = 7850.0
WOUND_MASS_FACTOR = 0.88
GRAVITY_M_S2 = 9.81
A4_HZ = 440.0
SEMITONES = {"C": -9, "D": -7, "E": -5, "F": -4, "G": -2, "A": 0, "B": 2}
SHORTEST_MM, LONGEST_MM, WAVES = 15.0, 150.0, 8


@dataclass(frozen=True, slots=True)
class StringSet:
    """float[strings], and the waves of the strings' thickness float[strings, waves].

    Wound strings are as smooth as plain ones here: a real one's winding shows besides.
    """

    frequency_hz: FloatArray
    mass_kg_per_m: FloatArray
    tension_n: FloatArray
    sag_mm: FloatArray
    wave_mm: FloatArray
    wave_length_mm: FloatArray
    wave_phase_rad: FloatArray

    def uneven_mm(self, x_mm: FloatArray, string: IntArray) -> FloatArray:
        """float[n]: how much higher the upper side of a string is there than an even one's."""
        turn = 2.0 * np.pi * x_mm[:, np.newaxis] / self.wave_length_mm[string]
        waves = self.wave_mm[string] * np.sin(turn + self.wave_phase_rad[string])
        return np.asarray(np.sum(waves, axis=1), dtype=float)


def draw_strings(seed: int, made: Instrument, uneven_um: float) -> StringSet:
    """Tuned within 3 cents, of real mass within 2 percent; w l^2 / (8 T) is the sag."""
    rng = np.random.default_rng([seed, 8])
    cents = rng.uniform(-3.0, 3.0, made.strings)
    mass = _mass_kg_per_m(made) * (1.0 + rng.uniform(-0.02, 0.02, made.strings))
    frequency = np.array([_frequency_hz(note) for note in made.notes]) * 2.0 ** (cents / 1200.0)
    length_m = 1e-3 * made.scale_mm
    tension = mass * (2.0 * length_m * frequency) ** 2
    shape = (made.strings, WAVES)
    return StringSet(
        frequency_hz=frequency,
        mass_kg_per_m=mass,
        tension_n=tension,
        sag_mm=1e3 * mass * GRAVITY_M_S2 * length_m**2 / (8.0 * tension),
        wave_mm=np.full(shape, 1e-3 * uneven_um * np.sqrt(2.0 / WAVES)),
        wave_length_mm=np.exp(rng.uniform(np.log(SHORTEST_MM), np.log(LONGEST_MM), shape)),
        wave_phase_rad=rng.uniform(0.0, 2.0 * np.pi, shape),
    )


def _mass_kg_per_m(made: Instrument) -> FloatArray:
    solid = STEEL_KG_PER_M3 * np.pi * (0.0254 * np.array(made.gauges_in)) ** 2 / 4.0
    wound = np.arange(made.strings) >= made.plain_strings
    return np.asarray(solid * np.where(wound, WOUND_MASS_FACTOR, 1.0), dtype=float)


def _frequency_hz(note: str) -> float:
    """Of a natural note in equal temperament, A4 = 440 Hz (ISO 16)."""
    octaves = int(note[1:]) - 4
    return float(A4_HZ * 2.0 ** (octaves + SEMITONES[note[0]] / 12.0))
