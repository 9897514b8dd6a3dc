"""How much of the crowns' places a wave of some pitch would explain, and which does most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize_scalar

from calibration.passes import FloatArray
from calibration.screw.fretlines import Lines

#: Turns of the screws and belts there are, counted travel, mm.
SHORTEST_MM, LONGEST_MM = 1.0, 45.0
#: Frequencies tried within the width of one line of the spectrum.
_FINE = 6.0
#: Two pitches whose chi-squares lie this near one another cannot be told apart (1 %, 2 free).
RIVAL = 9.21


@dataclass(frozen=True, slots=True)
class Pitches:
    """best_mm, and what it gains in chi-square; rival_mm: another that does as well, or None."""

    best_mm: float
    gained: float
    rival_mm: float | None


def wave(setting: Lines, pitch_mm: float) -> FloatArray:
    """What a wave of one millimetre does to the places of the crowns, sine and cosine: float[n, 2].

    A crown's place is a mean over its sides, whose readings count by their slope squared.
    """
    turn = 2.0 * np.pi * (setting.x_mm + setting.middle_mm) / pitch_mm
    return response(setting.half_mm, pitch_mm) * np.column_stack([np.sin(turn), np.cos(turn)])


def response(half_mm: float, pitch_mm: float) -> float:
    """Share of a wave that a round crown's place shows: mean of cos(k v) by v^2 over -half..half.

    The slope of a round top is its distance v from the top over a radius. Below 0 where the
    crown is so wide that its sides outvote its top.
    """
    a = 2.0 * np.pi * half_mm / pitch_mm
    if a < 1e-3:
        return 1.0
    return float(3.0 * ((a**2 - 2.0) * np.sin(a) + 2.0 * a * np.cos(a)) / a**3)


def pitches_told(setting: Lines) -> float:
    """How many pitches the crowns tell apart, about: lines of the spectrum, twice for safety."""
    return 2.0 * float(np.ptp(setting.x_mm)) * (1.0 / SHORTEST_MM - 1.0 / LONGEST_MM)


def gains(setting: Lines, per_mm: FloatArray) -> FloatArray:
    """What chi-square falls by with a wave of each frequency (turns a millimetre), float[k].

    A place of its own for every pass, the scale and the frets' own places are fitted along.
    """
    basis, _ = np.linalg.qr(setting.design)
    crowns = basis[: setting.x_mm.size]
    off = setting.off_mm / setting.u_mm
    rest = off - crowns @ (crowns.T @ off)
    turn = 2.0 * np.pi * np.outer(setting.x_mm + setting.middle_mm, per_mm)
    sine, cosine = (f(turn) / setting.u_mm[:, None] for f in (np.sin, np.cos))
    known_s, known_c = crowns.T @ sine, crowns.T @ cosine
    ss, cc, sc = (
        np.sum(a * b, axis=0) - np.sum(known_a * known_b, axis=0)
        for a, b, known_a, known_b in (
            (sine, sine, known_s, known_s),
            (cosine, cosine, known_c, known_c),
            (sine, cosine, known_s, known_c),
        )
    )
    s, c = rest @ sine, rest @ cosine
    apart = ss * cc - sc**2
    gained = (cc * s**2 - 2.0 * sc * s * c + ss * c**2) / np.where(apart > 0, apart, np.inf)
    return np.asarray(np.where(apart > 1e-6 * ss * cc, gained, 0.0))


def find_pitch(setting: Lines, grown: float) -> Pitches:
    """The pitch that explains most. grown: how much the crowns scatter beyond their u's."""
    width = 1.0 / float(np.ptp(setting.x_mm))
    tried = np.arange(1.0 / LONGEST_MM, 1.0 / SHORTEST_MM, width / _FINE)
    gained = gains(setting, tried)
    first = float(tried[np.argmax(gained)])
    found = minimize_scalar(
        lambda f: -float(gains(setting, np.array([f]))[0]),
        bounds=(first - width / _FINE, first + width / _FINE),
        method="bounded",
        options={"xatol": 1e-4 * width},
    )
    best, most = float(found.x), -float(found.fun)
    others = np.where(np.abs(tried - best) > 1.5 * width, gained, -np.inf)
    near = float(np.max(others)) > most - RIVAL * grown
    return Pitches(1.0 / best, most, 1.0 / float(tried[np.argmax(others)]) if near else None)
