"""From a seed to one worn instrument: every number that makes it this one and no other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from sim.instrument import FloatArray, Instrument


@dataclass(frozen=True, slots=True)
class Frets:
    """The frets as found, before any cut. Arrays over frets, or over frets and strings.

    height_mm: unworn crown over the board on the centre line.
    lean: rise of the seated fret over the board per mm of y.
    dent_mm: how far the crown is worn down under a string.
    flat_mm: how deep below the crown circle's apex the wear cut it off (0 = round).
    """

    x_mm: FloatArray
    height_mm: FloatArray
    lean: FloatArray
    crown_radius_mm: FloatArray
    dent_mm: FloatArray
    flat_mm: FloatArray
    dent_sigma_mm: float


@dataclass(frozen=True, slots=True)
class Waves:
    """A few sines over the board: amplitude, wavelength, phase, and phase per mm of y."""

    amplitude_mm: FloatArray
    length_mm: FloatArray
    phase_rad: FloatArray
    skew_rad_per_mm: FloatArray


@dataclass(frozen=True, slots=True)
class Dirt:
    """Specks on the board: where, how high, how wide."""

    x_mm: FloatArray
    y_mm: FloatArray
    height_mm: FloatArray
    sigma_mm: FloatArray


@dataclass(frozen=True, slots=True)
class Wood:
    """What the neck itself does. Twists are slopes dz/dy at the body joint less at the nut."""

    relief_unstrung_mm: float
    s_shape_mm: float
    relief_from_load_mm: float
    bass_extra_rad: float
    twist_unstrung_mrad: float
    twist_from_load_mrad: float
    soft_spot_phase_rad: float
    hump_mm: float
    hump_sigma_mm: float
    fall_away_mrad: float
    rod_mm_per_turn: float
    ripple: Waves
    dirt: Dirt


@dataclass(frozen=True, slots=True)
class Scenario:
    """One instrument on one bench. nut_true_mm: the nut's fret-side edge on the rail."""

    seed: int
    instrument: Instrument
    frets: Frets
    wood: Wood
    action_mm: FloatArray
    nut_gap_mm: FloatArray
    nut_true_mm: float


def draw_scenario(seed: int) -> Scenario:
    """The same seed gives the same instrument, whatever else has drawn numbers before."""
    made = Instrument()
    rng = np.random.default_rng([seed, 1])
    return Scenario(
        seed=seed,
        instrument=made,
        frets=_frets(made, rng),
        wood=_wood(made, rng),
        action_mm=made.per_string(made.action_mm) + rng.uniform(-0.01, 0.01, made.strings),
        nut_gap_mm=made.per_string(made.nut_gap_mm) + rng.uniform(-0.01, 0.01, made.strings),
        nut_true_mm=made.nut_at_mm + rng.uniform(-3.5, 3.5),
    )


def _frets(made: Instrument, rng: Generator) -> Frets:
    count = made.frets
    dent_mm = _dents(made, rng)
    cut_off_mm = np.minimum(dent_mm * rng.uniform(0.4, 0.9, dent_mm.shape), 0.027)
    return Frets(
        x_mm=made.fret_x_mm + rng.normal(0.0, 0.02, count),
        height_mm=_heights(count, rng),
        lean=rng.normal(0.0, 0.00015, count),
        crown_radius_mm=1.15 * (1.0 + rng.normal(0.0, 0.03, count)),
        dent_mm=dent_mm,
        flat_mm=cut_off_mm,
        dent_sigma_mm=1.2,
    )


def _heights(count: int, rng: Generator) -> FloatArray:
    height_mm = 1.05 + rng.normal(0.0, 0.008, count)
    odd = rng.permutation(count)[:6]
    height_mm[odd[:3]] += rng.uniform(0.020, 0.060, 3)
    height_mm[odd[3:]] -= rng.uniform(0.020, 0.050, 3)
    return np.asarray(height_mm, dtype=float)


def _dents(made: Instrument, rng: Generator) -> FloatArray:
    """float[frets, strings]: first-position playing, and more under plain strings."""
    fret = np.arange(1, made.frets + 1)
    played = np.where(fret <= 7, 1.0 - 0.07 * np.abs(fret - 2), 0.25 * np.exp(-(fret - 7) / 4.0))
    string = np.arange(1, made.strings + 1)
    hard = np.where(string <= made.plain_strings, 1.0 - 0.1 * (string - 1), 0.4)
    share = rng.uniform(0.0, 1.0, (made.frets, made.strings))
    return np.asarray(0.060 * played[:, np.newaxis] * hard * share, dtype=float)


def _wood(made: Instrument, rng: Generator) -> Wood:
    return Wood(
        relief_unstrung_mm=rng.uniform(0.035, 0.065),
        s_shape_mm=rng.uniform(-0.012, 0.012),
        relief_from_load_mm=rng.uniform(0.18, 0.22),
        bass_extra_rad=rng.uniform(0.0008, 0.0014),
        twist_unstrung_mrad=rng.uniform(-2.0, 2.0),
        twist_from_load_mrad=rng.uniform(-0.8, -0.3),
        soft_spot_phase_rad=rng.uniform(0.0, 2.0 * np.pi),
        hump_mm=rng.uniform(0.020, 0.035),
        hump_sigma_mm=rng.uniform(14.0, 20.0),
        fall_away_mrad=rng.uniform(0.8, 1.6),
        rod_mm_per_turn=rng.uniform(0.25, 0.32),
        ripple=_ripple(rng),
        dirt=_dirt(made, rng),
    )


def _ripple(rng: Generator) -> Waves:
    return Waves(
        amplitude_mm=rng.uniform(0.0005, 0.002, 5),
        length_mm=rng.uniform(25.0, 90.0, 5),
        phase_rad=rng.uniform(0.0, 2.0 * np.pi, 5),
        skew_rad_per_mm=rng.uniform(-0.02, 0.02, 5),
    )


def _dirt(made: Instrument, rng: Generator) -> Dirt:
    specks = 120
    return Dirt(
        x_mm=rng.uniform(5.0, made.board_end_x_mm, specks),
        y_mm=rng.uniform(-24.0, 24.0, specks),
        height_mm=rng.uniform(0.005, 0.040, specks),
        sigma_mm=rng.uniform(0.3, 0.8, specks),
    )
