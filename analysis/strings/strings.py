"""Strings: mass, tension, and how far a bend pushes them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument, StringSpec

#: Steel, kg/m3 and Pa (handbook values; from memory).
STEEL_KG_PER_M3 = 7850.0
STEEL_PA = 200e9
#: A wound string weighs this much of a solid steel one of its diameter: core 0.4 of the
#: diameter, the rest round wire of about 8600 kg/m3 filling pi/4 of its ring. Own estimate.
WOUND_MASS_FACTOR = 0.88
#: Only the core of a wound string stretches: 0.4 of the diameter, 0.16 of the area.
WOUND_AREA_FACTOR = 0.16
#: No finger pushes a string further than this, mm (common practice, no source).
WIDEST_BEND_MM = 12.0


@dataclass(frozen=True, slots=True)
class StringLoad:
    """One string at pitch: mass per length, tension, stretching stiffness E A."""

    mass_kg_per_m: float
    tension_n: float
    stiffness_n: float


def mass_kg_per_m(spec: StringSpec) -> float:
    """Given, or that of solid steel of the diameter, times the wound factor."""
    if spec.mass_kg_per_m is not None:
        return spec.mass_kg_per_m
    solid = STEEL_KG_PER_M3 * np.pi * (1e-3 * spec.diameter_mm) ** 2 / 4.0
    return float(solid * (WOUND_MASS_FACTOR if spec.wound else 1.0))


def tension_n(mass: float, length_mm: float, frequency_hz: float) -> float:
    """Mersenne: T = mass (2 L f)^2."""
    return mass * (2.0 * 1e-3 * length_mm * frequency_hz) ** 2


def string_loads(instrument: Instrument) -> tuple[StringLoad, ...]:
    """Every string of the instrument at pitch, over its own scale length."""
    return tuple(
        _load(spec, float(instrument.scale_mm(number)))
        for number, spec in enumerate(instrument.strings, start=1)
    )


def _load(spec: StringSpec, length_mm: float) -> StringLoad:
    mass = mass_kg_per_m(spec)
    area = np.pi * (1e-3 * spec.diameter_mm) ** 2 / 4.0
    area *= WOUND_AREA_FACTOR if spec.wound else 1.0
    return StringLoad(mass, tension_n(mass, length_mm, spec.frequency_hz), float(STEEL_PA * area))


def bent_tension_n(tension: float, semitones: float) -> float:
    """Tension at the bent pitch: frequency goes with the root of tension."""
    return float(tension * 2.0 ** (semitones / 6.0))


def bend_mm(
    load: StringLoad, length_mm: float, fret_mm: FloatArray, semitones: float
) -> FloatArray:
    """How far a finger at a fret pushes the string aside for a bend.

    The stretch that brings the tension is (h^2/2)(1/a + 1/b) with a, b the lengths to nut and
    saddle; string beyond nut and saddle would add to h and is left out, and WIDEST_BEND_MM is
    the most. fret_mm: distance of the fret from the nut.
    """
    rise = bent_tension_n(load.tension_n, semitones) - load.tension_n
    stretch = rise / load.stiffness_n * length_mm
    sharp = 1.0 / fret_mm + 1.0 / (length_mm - fret_mm)
    return np.asarray(np.minimum(np.sqrt(2.0 * stretch / sharp), WIDEST_BEND_MM))
