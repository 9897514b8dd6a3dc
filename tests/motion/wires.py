"""Real strings: what a plucked string is made of, and how far a finger must bend it.

Written from physics alone; nothing of analysis is used. SI units, metres and newtons, but for
names that say mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Array = np.ndarray
#: Steel, Pa (handbook value, from memory).
STEEL_PA = 200e9
#: The core of a wound string is this share of its diameter (value from memory).
CORE_SHARE = 0.4
#: Decay rate of the lowest partials, 1/s, and how it grows with a partial's wave number squared,
#: m2/s: a note is heard for 7 s (60 dB), its partials near 5 kHz for 0.2 to 0.6 s. As long as good
#: steel strings ring (values from memory): what dies sooner swings less.
DECAY_PER_S = 1.0
DECAY_M2_PER_S = 2e-3
#: String past nut and saddle that stretches along where it slides freely, mm (value from memory;
#: the further push: where it sticks, less of a push makes the same bend).
PAST_ENDS_MM = 100.0
#: No finger pushes further, mm (common practice, no source).
WIDEST_MM = 12.0


@dataclass(frozen=True)
class Wires:
    """Several strings at pitch, one entry each: mass per length kg/m, tension N, bending
    stiffness E I in N m2, stretching stiffness E A in N."""

    mass: Array
    tension: Array
    bending: Array
    stretch: Array

    def of(self, which: Array) -> Wires:
        return Wires(
            self.mass[which], self.tension[which], self.bending[which], self.stretch[which]
        )

    def softened(self) -> Wires:
        """With next to no bending stiffness."""
        return Wires(self.mass, self.tension, 1e-6 * self.bending, self.stretch)


def wires(mass: Array, tension: Array, diameter_mm: Array, wound: Array) -> Wires:
    """Solid steel, or a steel core that alone bends and stretches: I = pi d^4 / 64."""
    core = 1e-3 * diameter_mm * np.where(wound, CORE_SHARE, 1.0)
    area = np.pi * core**2 / 4.0
    return Wires(mass, tension, STEEL_PA * area * core**2 / 16.0, STEEL_PA * area)


def bent(
    wire: Wires,
    whole_mm: Array,
    nut_to_fret_mm: Array,
    push_mm: Array,
    past_mm: float = PAST_ENDS_MM,
) -> tuple[Array, Array]:
    """(tension N, rise in pitch, semitones) of strings pushed aside over a fret.

    All of the string stretches together: dT = E A dL / L, with the exact triangle, L with what
    lies past the ends; the speaking part grows longer, which takes a little of the rise back.
    Broadcasts.
    """
    beyond = whole_mm - nut_to_fret_mm
    speaking = np.hypot(beyond, push_mm)
    longer = np.hypot(nut_to_fret_mm, push_mm) + speaking - whole_mm
    tension = wire.tension + wire.stretch * longer / (whole_mm + past_mm)
    pitch = np.sqrt(tension / wire.tension) * beyond / speaking
    return tension, 12.0 * np.log2(pitch)


def push_for(wire: Wires, whole_mm: Array, nut_to_fret_mm: Array, semitones: float) -> Array:
    """How far to push for a bend, mm, by halving; no further than WIDEST_MM."""
    low = np.zeros(np.broadcast_shapes(whole_mm.shape, nut_to_fret_mm.shape, wire.mass.shape))
    high = low + WIDEST_MM
    for _ in range(40):
        middle = 0.5 * (low + high)
        enough = bent(wire, whole_mm, nut_to_fret_mm, middle)[1] >= semitones
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return high
