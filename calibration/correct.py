"""The chain of corrections: from raw passes to profiles, in one order for every use."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from calibration.drift.drift import Drift, find_drift
from calibration.lag.lag import Lag
from calibration.lag.shift import match_shift
from calibration.passes import FloatArray, Pad, RawPass
from calibration.profile import Profile
from calibration.rail.map import Rail
from calibration.spikes import noise_mm, spike_flags

#: A shift comes out to some micrometres from one lane, and no top asks for more: the median of so
#: many lanes, spread over the board, is safe from an odd one.
SELF_LAG_LANES = 5


class Screw(Protocol):
    """Anything that knows how far the carriage goes for a count."""

    def true_x_mm(self, x_mm: FloatArray) -> FloatArray:
        """Where the carriage is when it counts x, float[n]."""


@dataclass(frozen=True, slots=True)
class Corrected:
    """Passes after their corrections, and the drift that was taken off them."""

    profiles: list[Profile]
    drift: Drift


@dataclass(frozen=True, slots=True)
class Cleaned:
    """Passes in the order they were made, without their spikes, and each one's noise."""

    passes: list[RawPass]
    noises_mm: list[float]


def correct(
    passes: Sequence[RawPass],
    pads: Sequence[Pad],
    quantum_mm: float,
    lag: Lag | None = None,
    rail: Rail | None = None,
    screw: Screw | None = None,
) -> list[Profile]:
    """The profiles of `corrected`."""
    return corrected(cleaned(passes, quantum_mm), pads, quantum_mm, lag, rail, screw).profiles


def cleaned(passes: Sequence[RawPass], quantum_mm: float) -> Cleaned:
    """Spikes flagged. passes: in the order they were made; quantum_mm: the sensor's smallest
    step."""
    noises = [noise_mm(p.z_mm, quantum_mm) for p in passes]
    return Cleaned([_without_spikes(p, n) for p, n in zip(passes, noises, strict=True)], noises)


def corrected(
    clean: Cleaned,
    pads: Sequence[Pad],
    quantum_mm: float,
    lag: Lag | None = None,
    rail: Rail | None = None,
    screw: Screw | None = None,
) -> Corrected:
    """Positions put right by screw, lag and backlash; drift and rail taken off.

    quantum_mm: the sensor's smallest step. Each correction is left out where it is None. Where
    lag is not calibrated, `self_lag` of profiles corrected without it lays the passes both ways
    over one another.
    """
    placed = [replace(p, x_mm=_contact_x_mm(p, lag, screw)) for p in clean.passes]
    drift = find_drift(placed, pads, quantum_mm)
    profiles = [_profile(i, one, clean.noises_mm[i], drift, rail) for i, one in enumerate(placed)]
    return Corrected(profiles, drift)


def _without_spikes(one: RawPass, noise: float) -> RawPass:
    return replace(one, z_mm=np.where(spike_flags(one.z_mm, noise), np.nan, one.z_mm))


def _contact_x_mm(one: RawPass, lag: Lag | None, screw: Screw | None) -> FloatArray:
    # the screw first: lag and backlash lie between the carriage and the tip
    x_mm = screw.true_x_mm(one.x_mm) if screw else one.x_mm
    return lag.contact_x_mm(one.t_s, x_mm, one.direction) if lag else x_mm


def _profile(number: int, one: RawPass, noise: float, drift: Drift, rail: Rail | None) -> Profile:
    x = one.x_mm
    z = one.z_mm - drift.at(number, one.t_s)
    u_rail: FloatArray = np.zeros_like(x)
    if rail is not None:
        error, u_rail = rail.at(x, one.y_mm)
        z = z - error
    order = np.argsort(x, kind="stable")
    return Profile(
        lane=one.lane,
        string=one.string,
        direction=one.direction,
        x_mm=x[order],
        y_mm=one.y_mm[order],
        z_mm=z[order],
        ok=np.isfinite(z[order]),
        u_rail_mm=u_rail[order],
        noise_mm=noise,
        u_drift_mm=drift.u_of(number),
        speed_mm_s=one.speed_mm_s,
    )


def pairs_both_ways(profiles: Sequence[Profile]) -> list[tuple[Profile, Profile]]:
    """(forward, backward) over each lane, in order of appearance."""
    forward = [p for p in profiles if p.direction > 0]
    backward = [p for p in profiles if p.direction < 0]
    taken: list[tuple[Profile, Profile]] = []
    for one in forward:
        match = next((b for b in backward if b.lane == one.lane), None)
        if match is not None:
            backward.remove(match)
            taken.append((one, match))
    return taken


def self_lag(profiles: Sequence[Profile], speed_mm_s: float) -> Lag | None:
    """Without a lag calibration: the whole shift between the ways, booked as lag.

    One speed cannot tell lag from backlash, but it need not to lay both ways over one another.
    None where no lane was passed both ways.
    """
    pairs = pairs_both_ways(profiles)
    if not pairs:
        return None
    spread = np.unique(np.linspace(0, len(pairs) - 1, SELF_LAG_LANES).round().astype(int))
    shifts = [match_shift(*pairs[i])[0] for i in spread.tolist()]
    half = float(np.median(shifts)) / 2.0
    return Lag(half / speed_mm_s, 0.0, 0.0, 0.0)
