"""How deep a real plucked string swings: stiff, dying away, plucked either way.

m u'' + 2 m d u' = T u_xx - E I u_xxxx between hinged ends. Partial k has wave number
q = k pi / l; pulled aside by a point force F at a it rests at
2 F sin(q a) / (l (T q^2 + E I q^4)) sin(q x), and let go it swings with
w^2 = (T q^2 + E I q^4) / m and dies away as exp(-d t). High partials run ahead of the harmonic
series, so ripples overshoot the ideal string's shape, most over the next few frets, until they
have died.

At rest a stiff string leaves the fret it is pressed on along a curve, over about sqrt(E I / T)
(1 to 3 mm), and its straight part aims over the contact: it lies above the line from the contact
to the saddle, and leaving that out is safe. Its own weight lets it sag by g / (32 f^2) in the
middle where the neck lies level, 3 um for a guitar's first string and 45 for its sixth: heights
measured lying are low by that where it is played upright, which errs to the safe side too.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.strings.envelope import pluck_point_mm
from analysis.strings.strings import StringLoad

IntArray = NDArray[np.int_]

#: How fast partials die, 1/s, and m2/s times wave number squared: a note rings for 7 s (60 dB),
#: its partials near 5 kHz for some tenths of a second, as long as good steel strings do (values
#: from memory). What dies sooner swings less deep.
DECAY_PER_S = 1.0
DECAY_M2_PER_S = 2e-3
#: Higher partials than these have died before they could run ahead.
_PARTIALS = 48
_MOMENTS = 3 * _PARTIALS
#: Ripples build up over the swings, and are gone by the last. Moments between those looked at
#: come deeper by about this share (see the test).
BETWEEN_MOMENTS = 0.01
_PARTS = np.arange(_MOMENTS)
_SWINGS = np.array([0, 1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 17, 20, 24, 28, 32, 40, 50, 64])


def deepest_per_newton(
    load: StringLoad, length_mm: FloatArray, place_mm: FloatArray, from_saddle_mm: float
) -> FloatArray:
    """Deepest swing towards the frets for a pluck of 1 N, away from them or towards them, mm.

    length_mm: [lengths], from the fret to the saddle. place_mm: [lengths, places], from the fret;
    zero where nobody asks. Returns [lengths, places], never negative.
    """
    length = 1e-3 * length_mm
    q = _wave_numbers(length, _PARTIALS)
    speed = partials_rad_s(load, length_mm, _PARTIALS)
    at = 1e-3 * (length_mm - pluck_point_mm(length_mm, from_saddle_mm))
    size = 2.0 * np.sin(q * at[:, None]) / (length[:, None] * load.mass_kg_per_m * speed**2)
    rate = (1j * speed - DECAY_PER_S - DECAY_M2_PER_S * q**2) * 2.0 * np.pi / speed[:, :1]
    # every moment as a swing and a part of one: Re exp(r (s + t)) = Re exp(r s) Re exp(r t) - Im Im
    whole, part = _powers(np.exp(rate), _SWINGS), _powers(np.exp(rate / _MOMENTS), _PARTS)
    swings = np.concatenate([whole.real, -whole.imag], axis=1).transpose(0, 2, 1)
    parts = np.concatenate([part.real, part.imag], axis=1)
    out = np.zeros(place_mm.shape)
    for n, places in enumerate(place_mm):
        asked = places > 0
        shape = (size[n] * np.sin(q[n] * 1e-3 * places[asked, None])).astype(np.float32)
        moving = (np.tile(shape, 2)[:, None, :] * swings[n]).reshape(-1, 2 * _PARTIALS) @ parts[n]
        moving = moving.reshape(len(shape), _SWINGS.size * _MOMENTS)
        out[n, asked] = np.maximum(moving.max(axis=1), -moving.min(axis=1))
    return 1e3 * (1.0 + BETWEEN_MOMENTS) * out


def _powers(base: NDArray[np.complex128], wanted: IntArray) -> NDArray[np.complex64]:
    """base to whole powers along a last axis, multiplied up by doubling, which is many times as
    fast as so many exponentials. Single precision is good for a thousandth of a micrometre."""
    count = int(wanted[-1]) + 1
    steps = np.empty((*base.shape, count), dtype=np.complex128)
    steps[..., 0] = 1.0
    known, square = 1, base[..., None]
    while known < count:
        more = min(known, count - known)
        np.multiply(steps[..., :more], square, out=steps[..., known : known + more])
        known, square = known + more, square * square
    return steps.astype(np.complex64)[..., wanted]


def partials_rad_s(load: StringLoad, length_mm: FloatArray, partials: int) -> FloatArray:
    """w of the lowest partials, undamped, [lengths, partials]: n w1 sqrt(1 + B n^2) but for a
    factor, with the inharmonicity B = pi^2 E I / (T l^2)."""
    q = _wave_numbers(1e-3 * length_mm, partials)
    pull = load.tension_n * q**2 + load.bending_nm2 * q**4
    return np.sqrt(pull / load.mass_kg_per_m)


def _wave_numbers(length_m: FloatArray, partials: int) -> FloatArray:
    return np.arange(1, partials + 1) * np.pi / length_m[:, None]
