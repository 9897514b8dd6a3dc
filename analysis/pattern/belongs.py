"""Whether a scan can be what it is said to be: strings off, frets as in the file, neck pulled.

By bumps alone, so that it can be asked at once, while the neck is still on the rig.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument
from analysis.pattern.register import MATCH_MM, Registration, bumps_mm, register
from calibration.profile import Profile

#: A lane with less than this share of the crowns a lane beside it has shows no frets (own choice).
BLIND_SHARE = 0.3
#: Fewer crowns than this beside a string, and nothing can be said of the string's own lane.
LEAST_CROWNS = 5
#: A fret stands where at least this share of the passes has a bump, and does not where fewer than
#: the other have (own choice).
STANDS_SHARE, GONE_SHARE = 0.8, 0.2
#: How far past the file's last fret to look for more.
MORE_FRETS = 6
#: Strings at pitch change relief by more than this on any neck there is, mm (own estimate). A rig
#: that is less sure gets twice its own uncertainty, up to the second.
LEAST_PULL_MM, MOST_DOUBT_MM = 0.005, 0.01


def check_belongs(profiles: Sequence[Profile], instrument: Instrument) -> Registration:
    """The scan shows the file's frets, under its strings too where it has lanes there.

    Returns the registration. Raises NeckError where the strings are still on, where the scan
    shows no such neck, or where the file has more or fewer frets than it.
    """
    check_strings_off(profiles)
    registration = register(profiles, instrument)
    check_fret_count(profiles, registration, instrument)
    return registration


def check_strings_off(profiles: Sequence[Profile]) -> None:
    """Raises NeckError where lanes under strings show no frets but those beside them do.

    A string in the way is a straight line over all frets. A scan without lanes under strings
    passes.
    """
    crowns = _crowns_by_lane(profiles)
    on = [
        round(string)
        for string, seen in crowns.items()
        if float(string).is_integer() and _is_blind(seen, _beside(crowns, string))
    ]
    if on:
        raise NeckError(
            f"the lanes under {_strings(on)} show a string, not frets: the neck is strung there; "
            "take the strings off and scan unstrung again"
        )


def check_fret_count(
    profiles: Sequence[Profile], registration: Registration, instrument: Instrument
) -> None:
    """Raises NeckError where the file's last frets are not on the scan, or the scan has more."""
    share = _share_seen(profiles, registration, instrument)
    frets = instrument.frets
    last = int(np.max(np.flatnonzero(share[:frets] >= GONE_SHARE), initial=-1)) + 1
    if last < frets:
        raise NeckError(
            f"frets: the file says {frets}, but no crown stands where fret {last + 1} would; the "
            f"last one on the scan is fret {last}: correct frets"
        )
    more = int(np.argmin(share[frets:] >= STANDS_SHARE))
    if more:
        raise NeckError(
            f"frets: the file says {frets}, but crowns stand on to where fret {frets + more} "
            "would: correct frets"
        )


def check_pulled(change_mm: FloatArray, u_mm: FloatArray) -> None:
    """Raises NeckError where no string's pull shows.

    change_mm, u_mm: float[strings], strung relief less unstrung and its standard uncertainty,
    NaN where it is not known.
    """
    known = np.isfinite(change_mm) & np.isfinite(u_mm)
    limit = np.clip(2.0 * u_mm[known], LEAST_PULL_MM, MOST_DOUBT_MM)
    if known.any() and np.all(np.abs(change_mm[known]) <= limit):
        most = float(np.max(np.abs(change_mm[known])))
        raise NeckError(
            "the strung scan looks unstrung: relief differs from the unstrung scan's by no more "
            f"than {most:.3f} mm under any string; bring the strings to pitch and scan strung again"
        )


def _crowns_by_lane(profiles: Sequence[Profile]) -> dict[float, float]:
    """Bumps on a pass over each lane, the median of its passes."""
    counts: dict[float, list[int]] = {}
    for profile in profiles:
        counts.setdefault(profile.string, []).append(bumps_mm(profile).size)
    return {string: float(np.median(seen)) for string, seen in counts.items()}


def _beside(crowns: dict[float, float], string: float) -> float:
    return max(crowns.get(string - 0.5, 0.0), crowns.get(string + 0.5, 0.0))


def _is_blind(seen: float, beside: float) -> bool:
    return beside >= LEAST_CROWNS and seen < BLIND_SHARE * beside


def _strings(numbers: list[int]) -> str:
    *others, last = map(str, sorted(numbers))
    return f"strings {', '.join(others)} and {last}" if others else f"string {last}"


def _share_seen(
    profiles: Sequence[Profile], registration: Registration, instrument: Instrument
) -> FloatArray:
    """Share of the passes with a bump at the place of fret 1, 2 and so on, past the file's last.

    Only passes that went there count; where none did, none is seen. The last entry is always 0.
    """
    frets = np.arange(1, instrument.frets + MORE_FRETS + 1, dtype=float)
    went, seen = np.zeros((2, frets.size + 1))
    for profile in profiles:
        places = registration.carriage_mm(instrument.fret_x_mm(frets, profile.string))
        inside = (places > profile.x_mm[0] + MATCH_MM) & (places < profile.x_mm[-1] - MATCH_MM)
        went[:-1] += inside
        seen[:-1] += inside & _near(bumps_mm(profile), places)
    return np.asarray(seen / np.maximum(went, 1.0))


def _near(bumps: FloatArray, places: FloatArray) -> np.ndarray:
    if bumps.size == 0:
        return np.zeros(places.size, dtype=bool)
    return np.asarray(np.min(np.abs(places[:, None] - bumps[None, :]), axis=1) < MATCH_MM)
