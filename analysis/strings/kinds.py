"""The built-in playing profiles, fitted to the kind of instrument."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.instrument import Instrument
from analysis.strings.playing import PlayingProfile, built_in_profile
from analysis.strings.strings import mass_kg_per_m

#: A longer scale than this is a bass's; a shorter one than that a ukulele's or a mandolin's, mm.
BASS_SCALE_MM = 740.0
SMALL_SCALE_MM = 500.0
#: Plain strings lighter than this are no metal, kg/m3.
METAL_KG_PER_M3 = 3000.0
#: The built-in pluck points are those on this scale; they move with it, to a whole centimetre.
GUITAR_SCALE_MM = 648.0


@dataclass(frozen=True, slots=True)
class Kind:
    """How playing differs from a steel-strung guitar's. Common practice, no source; from memory.

    force, bend: times the guitar's. action_mm: on top of the guitar's highest, first and last
    string.
    """

    name: str
    force: float
    bend: float
    action_mm: tuple[float, float]


GUITAR = Kind("steel-strung guitar", 1.0, 1.0, (0.0, 0.0))
BASS = Kind("bass", 1.5, 0.5, (0.3, 0.5))
CLASSICAL = Kind("nylon-strung guitar", 1.0, 0.5, (1.1, 1.3))
UKULELE = Kind("ukulele", 0.7, 0.0, (0.5, 0.4))
MANDOLIN = Kind("mandolin", 1.0, 0.0, (-0.2, -0.5))


def kind_of(instrument: Instrument) -> Kind:
    """By scale length and by what the plain strings are made of."""
    scale_mm = 0.5 * (instrument.scale_bass_mm + instrument.scale_treble_mm)
    if scale_mm > BASS_SCALE_MM:
        return BASS
    small = scale_mm < SMALL_SCALE_MM
    if _soft(instrument):
        return UKULELE if small else CLASSICAL
    return MANDOLIN if small else GUITAR


def profile_for(name: str, instrument: Instrument) -> PlayingProfile:
    """A built-in profile for this instrument. Raises KeyError for a name not in BUILT_IN."""
    guitar, kind = built_in_profile(name, len(instrument.strings)), kind_of(instrument)
    scale_mm = 0.5 * (instrument.scale_bass_mm + instrument.scale_treble_mm)
    ends = sorted(guitar.highest_action_mm)
    return replace(
        guitar,
        pluck_force_n=round(guitar.pluck_force_n * kind.force, 3),
        pluck_from_saddle_mm=round(guitar.pluck_from_saddle_mm * scale_mm / GUITAR_SCALE_MM, -1),
        bend_semitones=guitar.bend_semitones * kind.bend,
        highest_action_mm={
            string: round(guitar.highest_action_mm[string] + more, 3)
            for string, more in zip(ends, kind.action_mm, strict=True)
        },
    )


def _soft(instrument: Instrument) -> bool:
    plain = [spec for spec in instrument.strings if not spec.wound]
    area = [np.pi * (1e-3 * spec.diameter_mm) ** 2 / 4.0 for spec in plain]
    light = [
        mass_kg_per_m(spec) < METAL_KG_PER_M3 * at for spec, at in zip(plain, area, strict=True)
    ]
    return 2 * sum(light) > len(light)
