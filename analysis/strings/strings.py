"""Strings at pitch: mass, tension, and how stiff they are to stretch and to bend."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import Instrument, StringSpec
from analysis.strings.materials import MATERIALS


@dataclass(frozen=True, slots=True)
class StringLoad:
    """One string at pitch: mass per length, tension, stretching stiffness E A, bending E I.

    Both stiffnesses are the core's; its winding adds weight only. A winding does stiffen a
    string somewhat against bending, by how much depends on how it is wound: left out.
    """

    mass_kg_per_m: float
    tension_n: float
    stiffness_n: float
    bending_nm2: float


def mass_kg_per_m(spec: StringSpec) -> float:
    """Given, or that of its material at its diameter; a wound one's over its outside."""
    if spec.mass_kg_per_m is not None:
        return spec.mass_kg_per_m
    material = MATERIALS[spec.material]
    density = material.wound_kg_per_m3 if spec.wound else material.density_kg_per_m3
    return float(density * _area_m2(spec.diameter_mm))


def core_mm(spec: StringSpec) -> float:
    """Diameter of what pulls: a plain string's; the core given, or a share of a wound string's."""
    if not spec.wound:
        return spec.diameter_mm
    if spec.core_mm is not None:
        return spec.core_mm
    material = MATERIALS[spec.material]
    thinnest, thickest = material.cores_mm
    share = material.core_share * spec.diameter_mm
    # the thinnest core there is does not fit under a winding thinner still
    return float(min(max(share, min(thinnest, 0.6 * spec.diameter_mm)), thickest))


def tension_n(mass: float, length_mm: float, frequency_hz: float) -> float:
    """Mersenne: T = mass (2 L f)^2."""
    return mass * (2.0 * 1e-3 * length_mm * frequency_hz) ** 2


def string_loads(instrument: Instrument) -> tuple[StringLoad, ...]:
    """Every string of the instrument at pitch, from the nut to its own saddle."""
    return tuple(
        string_load(spec, float(instrument.speaking_mm(number)))
        for number, spec in enumerate(instrument.strings, start=1)
    )


def string_load(spec: StringSpec, length_mm: float) -> StringLoad:
    """One string at pitch. I = pi d^4 / 64, the round core's."""
    mass, core = mass_kg_per_m(spec), core_mm(spec)
    young_pa = MATERIALS[spec.material].young_pa
    return StringLoad(
        mass,
        tension_n(mass, length_mm, spec.frequency_hz),
        float(young_pa * _area_m2(core)),
        float(young_pa * np.pi * (1e-3 * core) ** 4 / 64.0),
    )


def stress_pa(load: StringLoad, spec: StringSpec) -> float:
    """Of the core, which carries all the tension; rho (2 L f)^2 for a plain string."""
    return load.tension_n / _area_m2(core_mm(spec))


def _area_m2(diameter_mm: float) -> float:
    return float(np.pi * (1e-3 * diameter_mm) ** 2 / 4.0)
