"""Where along the travel the crowns of every pass stand, for the screw."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analysis.crowns.fit import Crowns, fit_crowns
from analysis.crowns.trace import Eye, trace
from analysis.crowns.windows import Windows, gather
from analysis.instrument import FloatArray, Instrument
from analysis.pattern.register import register
from calibration.profile import Profile
from calibration.screw.fretlines import Strip

#: Half the width of what places a crown. Narrower than what finds its top: over a wider one the
#: periodic error of a fine screw would average out.
HALF_MM = 0.45
#: A crown's place is no better than this, whatever the noise says: grain, rounding (own
#: estimate), mm.
LEAST_U_MM = 0.0005
#: A crown this far from where its pass's others put it is another bump, mm.
FAR_MM = 0.5
#: Crowns whose shape misfits so much more than the noise are not placed by it.
WORST_MISFIT = 25.0


def crown_strips(
    profiles: Sequence[Profile], instrument: Instrument, ball_mm: float, placement: int
) -> list[Strip]:
    """The crowns of every pass with their frets, counted places and uncertainties.

    A round crown is highest over its middle however the neck slopes; slopes of a rail that is not
    mapped do move it, by the slope times the radius of what the tip's centre runs on. Raises
    NeckError where the scan shows no such neck, or its frets contradict the scale length.
    """
    registration = register(profiles, instrument)
    frets = np.arange(1, instrument.frets + 1)
    patterns = [instrument.fret_x_mm(frets.astype(float), p.string) for p in profiles]
    expected = [
        registration.carriage_mm(x, p.string) for x, p in zip(patterns, profiles, strict=True)
    ]
    windows = gather(profiles, expected, HALF_MM)
    fret = np.tile(np.arange(frets.size), len(profiles))
    strings = np.unique([p.string for p in profiles], return_inverse=True)[1]
    crowns = fit_crowns(windows, ball_mm, list(np.repeat(strings, frets.size) * frets.size + fret))
    rows = (len(profiles), frets.size)
    place, u, good = _places(windows, crowns, ball_mm)
    place, u, good = place.reshape(rows), u.reshape(rows), good.reshape(rows)
    strips = []
    for i, (profile, pattern) in enumerate(zip(profiles, patterns, strict=True)):
        off = np.where(good[i], place[i] - expected[i], np.inf)
        middle = np.median(off[good[i]]) if good[i].any() else 0.0
        kept = good[i] & (np.abs(off - middle) < FAR_MM)
        row = (frets[kept], pattern[kept], place[i, kept], u[i, kept])
        strips.append(Strip(placement, profile.lane, *row, HALF_MM))
    return [strip for strip in strips if strip.fret.size > 1]


def _places(
    windows: Windows, crowns: Crowns, ball_mm: float
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """(place, u, whether a crown stands there) of every window, [windows]."""
    radius = np.nan_to_num(crowns.radius_mm, nan=1.0)[:, None]
    seen = np.isfinite(crowns.x_mm)
    flat = float(np.median(crowns.flat_mm[seen])) if seen.any() else 0.0
    eye = Eye(ball_mm)
    off = windows.x_mm - np.nan_to_num(crowns.x_mm)[:, None]
    steep = trace(off, eye.curvature(radius), flat, eye).by_x
    told = np.sum(np.where(windows.ok, steep**2, 0.0), axis=1)
    noise = windows.noise_mm * np.sqrt(np.clip(crowns.misfit, 1.0, None))
    u = np.hypot(noise / np.sqrt(np.maximum(told, 1e-9)), LEAST_U_MM)
    good = seen & (crowns.misfit < WORST_MISFIT)
    return crowns.x_mm, u, good
