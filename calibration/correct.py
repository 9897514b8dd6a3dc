"""The chain of corrections: from raw passes to profiles, in one order for every use."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calibration.drift import Drift, fit_drift, visit_pads
from calibration.lag import Lag, match_shift
from calibration.passes import FloatArray, Pad, RawPass
from calibration.profile import Profile
from calibration.railmap import Rail
from calibration.spikes import noise_mm, spike_flags


def correct(
    passes: Sequence[RawPass],
    pads: Sequence[Pad],
    quantum_mm: float,
    lag: Lag | None,
    rail: Rail | None,
) -> list[Profile]:
    """Spikes flagged, drift and rail taken off, positions put back by lag and backlash.

    quantum_mm: the sensor's smallest step. Where lag is not calibrated, `self_lag` of profiles
    corrected without it lays the passes both ways over one another.
    """
    noises = [noise_mm(p.z_mm, quantum_mm) for p in passes]
    cleaned = [_without_spikes(p, n) for p, n in zip(passes, noises, strict=True)]
    drift = fit_drift(visit_pads(cleaned, pads))
    return [_profile(i, one, noises[i], drift, lag, rail) for i, one in enumerate(cleaned)]


def _without_spikes(one: RawPass, noise: float) -> RawPass:
    z_mm = np.where(spike_flags(one.z_mm, noise), np.nan, one.z_mm)
    return RawPass(
        one.lane, one.string, one.direction, one.speed_mm_s, one.t_s, one.x_mm, one.y_mm, z_mm
    )


def _profile(
    number: int, one: RawPass, noise: float, drift: Drift, lag: Lag | None, rail: Rail | None
) -> Profile:
    x = lag.contact_x_mm(one.t_s, one.x_mm, one.direction) if lag else one.x_mm
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
    shifts = [match_shift(f, b)[0] for f, b in pairs_both_ways(profiles)]
    if not shifts:
        return None
    half = float(np.median(shifts)) / 2.0
    return Lag(half / speed_mm_s, 0.0, 0.0, 0.0)
