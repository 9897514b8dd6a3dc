"""What a string's stiffness adds to its swing.

At rest: a stiff string leaves the fret it is pressed on along a curve, over a length of about
sqrt(E I / T) (1 to 3 mm), and its straight part aims over the contact by the angle at which the
finger turns it times that length. So it lies above the line from the contact to the saddle, and
leaving that out is safe. Its own weight lets it sag by g / (32 f^2) in the middle where the neck
lies level, 3 um for a guitar's first string and 45 for its sixth: heights measured lying are low
by that where it is played upright, which errs to the safe side too, and is left out.

In motion: partials run ahead of the harmonic series, so the corners of the plucked shape spread
into ripples which overshoot it, while damping makes all of it smaller. `stiff_swing_mm` bounds
the sum of both.
"""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray

#: Ripple over slope times length times (B N)^(1/3), B the inharmonicity and N the periods passed.
#: Own modal sums without damping: 0.139 at most over the half of the string next to the fret, for
#: pluck points of 0.1 to 0.5 of the length, B = 1e-5 to 1e-3, N to 256. Over the other half it
#: comes to 0.18 after dozens of periods: there the bound leans on damping.
RIPPLE = 0.14
#: Every partial dies away at least this fast, 1/s (own choice: to a thousandth after 14 s; the
#: tests' own simulation of strings takes the same, so it does not test this number), and by the
#: air's drag at least by its frequency over this quality (Stokes' drag on a swinging cylinder,
#: Fletcher and Rossing, from memory: 1000 to 3300 for the first partial of a guitar's strings).
SLOWEST_DECAY_PER_S = 0.5
AIR_QUALITY = 3000.0
_STEPS = 3


def inharmonicity(
    bending_nm2: FloatArray, tension_n: FloatArray, length_mm: FloatArray
) -> FloatArray:
    """B = pi^2 E I / (T l^2); partial n of a string on hinges is n f0 sqrt(1 + B n^2)."""
    return np.asarray(np.pi**2 * bending_nm2 / (tension_n * (1e-3 * length_mm) ** 2))


def stiff_swing_mm(
    ideal_mm: FloatArray,
    force_n: float,
    tension_n: FloatArray,
    mass_kg_per_m: FloatArray,
    bending_nm2: FloatArray,
    length_mm: FloatArray,
) -> FloatArray:
    """How much deeper than its ideal swing a stiff string comes, at the most. All broadcast.

    ideal_mm: the deepest swing D of the string without stiffness there. Derivation. The shape let
    go is two travelling waves with corners where the slope jumps by F / T. To the first order in
    B partial n gains the phase pi B N n^3 in N periods: each corner is folded with an Airy
    function of width l (3 B N / pi^2)^(1/3), and ripples of that width and of a height in
    proportion to it times the jump run ahead of it: RIPPLE (F / T) l (B N)^(1/3) at the most.
    Damping, at y = decay rate times time, takes e^-y off everything at least (a partial that dies
    faster smooths the shape, which nowhere deepens an arch). So the string comes no deeper than
    the largest over y of e^-y (D + A y^(1/3)), A the ripple after one decay time; its y is where
    D z^2 + A z^3 = A / 3, z = y^(1/3), found by Newton's steps from above.
    """
    speed = np.sqrt(tension_n / mass_kg_per_m)
    frequency_hz = speed / (2e-3 * length_mm)
    decay = SLOWEST_DECAY_PER_S + np.pi * frequency_hz / AIR_QUALITY
    spread = inharmonicity(bending_nm2, tension_n, length_mm) * frequency_hz / decay
    a = RIPPLE * force_n / tension_n * length_mm * np.cbrt(spread)
    # a hundredth of a micrometre: right over the fret there is no swing, and no division by it
    d = np.maximum(ideal_mm, 1e-5)
    a = np.maximum(a, 1e-9)
    z = np.minimum(np.cbrt(1.0 / 3.0), np.sqrt(a / (3.0 * d)))
    for _ in range(_STEPS):
        z = z - (d * z**2 + a * (z**3 - 1.0 / 3.0)) / (2.0 * d * z + 3.0 * a * z**2)
    return np.asarray(np.exp(-(z**3)) * (d + a * z) - d)
