"""Which crown is which fret: the scan laid over the pattern of equal temperament."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import white_tophat
from scipy.signal import find_peaks

from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument
from calibration.profile import Profile

#: Bumps wider than this are not frets (nut block, board, body).
WIDEST_CROWN_MM = 5.0
#: A bump lower than this is dirt.
LOWEST_CROWN_MM = 0.2
#: How far the nut may stand from where the file says, and the scale from what it says.
NUT_SEARCH_MM = 16.0
SCALE_SEARCH = 0.045
#: Past this the scale length contradicts the file: no lead screw is that wrong.
SCALE_LIMIT = 0.006
#: A bump this near its place in the pattern is that fret.
MATCH_MM = 1.5
_GRID_MM = 0.1


@dataclass(frozen=True, slots=True)
class Registration:
    """carriage x = nut_mm + scale * x along the neck, with standard uncertainties.

    found: share of the pattern's frets that were seen, over all profiles.
    """

    nut_mm: float
    u_nut_mm: float
    scale: float
    u_scale: float
    found: float

    def carriage_mm(self, neck_x_mm: FloatArray) -> FloatArray:
        return self.nut_mm + self.scale * neck_x_mm

    def neck_mm(self, carriage_x_mm: FloatArray) -> FloatArray:
        return (carriage_x_mm - self.nut_mm) / self.scale


def bumps_mm(profile: Profile) -> FloatArray:
    """Carriage positions of everything in the profile that could be a crown.

    A white top-hat takes off whatever is wider than a crown; what stands up after that, by
    more than dirt does, is a bump.
    """
    x, z = profile.x_mm[profile.ok], profile.z_mm[profile.ok]
    if x.size < 100:
        return np.empty(0)
    grid = np.arange(x[0], x[-1], _GRID_MM)
    height = white_tophat(np.interp(grid, x, z), size=(int(WIDEST_CROWN_MM / _GRID_MM),))
    peaks, _ = find_peaks(height, prominence=LOWEST_CROWN_MM, distance=int(2.0 / _GRID_MM))
    return np.asarray(grid[peaks])


def register(profiles: Sequence[Profile], instrument: Instrument) -> Registration:
    """Offset and scale of the whole scan against x_n = L (1 - 2^(-n/12)).

    Votes over every offset and scale first, so that missing, doubled or foreign bumps do not
    shift the numbering; then least squares over the bumps near their places. Raises NeckError
    where no pattern is found or the scale length contradicts the file.
    """
    bumps = [bumps_mm(p) for p in profiles]
    patterns = [_pattern(instrument, p.string) for p in profiles]
    seen = sum(b.size for b in bumps)
    if seen < 5 * len(profiles):
        raise NeckError(
            f"the scan shows {seen} crowns in {len(profiles)} passes; a neck shows at least 5 in "
            "each: is it on the rig, and in the sensor's range?"
        )
    nut, scale = _vote(bumps, patterns, instrument.nut_at_mm)
    registration = _refine(bumps, patterns, nut, scale)
    _check(registration, instrument)
    return registration


def _pattern(instrument: Instrument, string: float) -> FloatArray:
    frets = np.arange(1, instrument.frets + 1, dtype=float)
    return instrument.fret_x_mm(frets, string)


def _vote(
    bumps: Sequence[FloatArray], patterns: Sequence[FloatArray], nut_at_mm: float
) -> tuple[float, float]:
    """The offset and scale under which most frets have a bump at their place."""
    nuts = nut_at_mm + np.arange(-NUT_SEARCH_MM, NUT_SEARCH_MM + 0.1, 0.25)
    scales = 1.0 + np.arange(-SCALE_SEARCH, SCALE_SEARCH + 1e-6, 0.001)
    votes = np.zeros((nuts.size, scales.size))
    chosen = range(0, len(bumps), max(1, len(bumps) // 6))
    for i in chosen:
        if bumps[i].size == 0:
            continue
        places = nuts[:, None, None] + scales[None, :, None] * patterns[i]
        right = np.clip(np.searchsorted(bumps[i], places), 1, bumps[i].size - 1)
        if bumps[i].size == 1:
            off = np.abs(places - bumps[i][0])
        else:
            off = np.minimum(np.abs(places - bumps[i][right]), np.abs(places - bumps[i][right - 1]))
        votes += np.sum(np.clip(1.0 - off / MATCH_MM, 0.0, None), axis=2)
    # a tie goes to the place the file says
    votes -= 1e-3 * np.abs(nuts - nut_at_mm)[:, None] + np.abs(scales - 1.0)[None, :]
    best = np.unravel_index(np.argmax(votes), votes.shape)
    return float(nuts[best[0]]), float(scales[best[1]])


def _refine(
    bumps: Sequence[FloatArray], patterns: Sequence[FloatArray], nut: float, scale: float
) -> Registration:
    """Least squares on the matched bumps, twice, the second time without the far ones."""
    widest = MATCH_MM
    covariance = np.eye(2)
    found = 0.0
    for _ in range(3):
        neck, carriage = _matched(bumps, patterns, nut, scale, widest)
        if neck.size < 8:
            raise NeckError(
                "the crowns on the scan do not stand like frets of the scale length in the file: "
                f"only {neck.size} match; check scale_mm, frets and nut_at_mm"
            )
        middle = neck.mean()
        design = np.column_stack([np.ones_like(neck), neck - middle])
        inverse = np.linalg.inv(design.T @ design)
        at_middle, scale = inverse @ design.T @ carriage
        nut = at_middle - scale * middle
        off = carriage - design @ np.array([at_middle, scale])
        variance = float(off @ off) / (neck.size - 2)
        spread = 1.4826 * float(np.median(np.abs(off)))
        to_nut = np.array([[1.0, -middle], [0.0, 1.0]])
        covariance = to_nut @ inverse @ to_nut.T * variance
        found = neck.size / sum(p.size for p in patterns)
        widest = max(0.3, 5.0 * spread)
    u_nut, u_scale = np.sqrt(np.diag(covariance))
    return Registration(float(nut), float(u_nut), float(scale), float(u_scale), found)


def _matched(
    bumps: Sequence[FloatArray],
    patterns: Sequence[FloatArray],
    nut: float,
    scale: float,
    widest: float,
) -> tuple[FloatArray, FloatArray]:
    """(place on the neck, carriage position) of every fret that has a bump near its place."""
    necks, carriages = [], []
    for bump, pattern in zip(bumps, patterns, strict=True):
        if bump.size == 0:
            continue
        off = bump[None, :] - (nut + scale * pattern)[:, None]
        nearest = np.argmin(np.abs(off), axis=1)
        near = np.abs(off[np.arange(pattern.size), nearest]) < widest
        necks.append(pattern[near])
        carriages.append(bump[nearest[near]])
    if not necks:
        return np.empty(0), np.empty(0)
    return np.concatenate(necks), np.concatenate(carriages)


def _check(found: Registration, instrument: Instrument) -> None:
    """Refuses a scale that no lead screw explains, and a scan that shows half a neck."""
    middle = 0.5 * (instrument.scale_bass_mm + instrument.scale_treble_mm)
    if abs(found.scale - 1.0) > SCALE_LIMIT:
        raise NeckError(
            f"scale_mm: the file says {middle:g}, but the frets stand as on a scale of "
            f"{found.scale * middle:.1f} ± {2 * found.u_scale * middle:.1f} mm; "
            f"up to {100 * SCALE_LIMIT:g} % could be the carriage's screw, this is not: "
            "correct scale_mm, or carriage.mm_per_count if that is wrong"
        )
    if found.found < 0.5:
        raise NeckError(
            f"only {100 * found.found:.0f} % of the frets in the file have a crown on the scan; "
            f"check frets ({instrument.frets}) and scale_mm ({middle:g}), and that the lanes lie "
            "on the board"
        )
