"""Whether a scan can be what it is said to be: strings off, frets as in the file, neck pulled.

By bumps alone, so that it can be asked at once, while the neck is still on the rig.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.belongs.cautions import check_readings
from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument
from analysis.pattern.count import check_fret_count
from analysis.pattern.register import Look, look_at
from analysis.pattern.registration import Registration
from analysis.pattern.upside import registered_upright
from calibration.profile import Profile

#: A lane with less than this share of the crowns a lane beside it has shows no frets (own choice).
BLIND_SHARE = 0.3
#: Fewer crowns than this beside a string, and nothing can be said of the string's own lane.
LEAST_CROWNS = 5
#: Strings at pitch change relief by more than this on any neck there is, mm (own estimate). A rig
#: that is less sure gets twice its own uncertainty, up to the second.
LEAST_PULL_MM, MOST_DOUBT_MM = 0.005, 0.01


@dataclass(frozen=True, slots=True)
class Belongs:
    """Where the neck lies, and what is to be known of the scan, a phrase each."""

    registration: Registration
    remarks: tuple[str, ...]


def check_belongs(
    profiles: Sequence[Profile], instrument: Instrument, u_screw_scale: float | None = None
) -> Belongs:
    """The scan shows the file's frets, under its strings too where it has lanes there.

    u_screw_scale: of the lead screw's calibration, None without one. Raises NeckError where the
    strings are still on, where the scan shows no such neck, where the file has more or fewer
    frets than it, and where readings are too few or off the board.
    """
    look = look_at(profiles)
    check_strings_off(look)
    registration = registered_upright(look, profiles, instrument, u_screw_scale)
    check_fret_count(look, registration, instrument)
    remarks = check_readings(profiles, look.cells, registration, instrument)
    return Belongs(registration, remarks)


def check_strings_off(look: Look) -> None:
    """Raises NeckError where lanes under strings show no frets but those beside them do.

    A string in the way is a straight line over all frets. A scan without lanes under strings
    passes.
    """
    crowns = _crowns_by_lane(look)
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


def _crowns_by_lane(look: Look) -> dict[float, float]:
    """Bumps on a pass over each lane, the median of its passes."""
    return {
        float(string): float(np.median(look.bumps.count[look.string == string]))
        for string in np.unique(look.string)
    }


def _beside(crowns: dict[float, float], string: float) -> float:
    return max(crowns.get(string - 0.5, 0.0), crowns.get(string + 0.5, 0.0))


def _is_blind(seen: float, beside: float) -> bool:
    return beside >= LEAST_CROWNS and seen < BLIND_SHARE * beside


def _strings(numbers: list[int]) -> str:
    *others, last = map(str, sorted(numbers))
    return f"strings {', '.join(others)} and {last}" if others else f"string {last}"
