"""What the frets say against the instrument's file or the neck's place on the rig, in a line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import Instrument
from analysis.pattern import odds
from analysis.pattern.numbering import Numbering
from analysis.pattern.registration import share_across

#: Past this a scale contradicts the file: no lead screw is that wrong.
SCALE_LIMIT = 0.006
#: A scale measured with a ruler is right to this (own choice).
RULER_LIMIT = 0.001
#: Frets fan by the file to this, or the file is wrong: half a mm at fret 22 between the outer
#: strings (own choice).
FAN_LIMIT = 0.002


def scale_limit(u_found: float, u_screw: float | None) -> float:
    """How far the scale may be from the file's.

    u_screw: standard uncertainty of the lead screw's own scale, None where it is not calibrated.
    """
    if u_screw is None:
        return SCALE_LIMIT
    return max(RULER_LIMIT, 3.0 * float(np.hypot(u_screw, u_found)))


def contradiction(found: Numbering, u_screw: float | None) -> str | None:
    """A line where the neck lies the wrong way, or the file is wrong; None where all agrees."""
    if found.lay.backwards:
        return (
            "the neck lies backwards on the rig: its frets come closer together towards the start "
            "of the travel, where the nut should be; turn it end for end and scan again"
        )
    instrument = found.lay.instrument
    return _scales(found, u_screw) or _nut(found, instrument)


def _nut(found: Numbering, instrument: Instrument) -> str | None:
    if abs(found.off_mm) <= odds.NUT_SEARCH_MM + 0.5:
        return None
    return (
        f"nut_at_mm: the file says {instrument.nut_at_mm:g}, but by its frets the nut stands at "
        f"{found.fit.unknowns[0]:.1f} mm; it may be {odds.NUT_SEARCH_MM:g} mm off at most: correct "
        "nut_at_mm and scan again, for the lanes are laid by it"
    )


@dataclass(frozen=True, slots=True)
class _Ends:
    """Scale length under one edge of the strings: by the file, found, and its u, mm."""

    name: str
    said_mm: float
    found_mm: float
    u_mm: float

    def beyond(self, limit: float) -> bool:
        """Whether it is off by more than a share, whatever its uncertainty."""
        return abs(self.found_mm - self.said_mm) > limit * self.said_mm + 2.0 * self.u_mm

    def __str__(self) -> str:
        return f"{self.found_mm:.1f} ± {max(2.0 * self.u_mm, 0.05):.1f} mm"


def _scales(found: Numbering, u_screw: float | None) -> str | None:
    """Where a scale length disagrees: which, and by how much."""
    instrument = found.lay.instrument
    fan, u_fan = float(found.fit.unknowns[3]), float(found.fit.u[3])
    limit = scale_limit(float(found.fit.u[1]), u_screw)
    fanned = abs(fan) > FAN_LIMIT + 2.0 * u_fan
    bass, treble = _ends(found)
    off = [end for end in (bass, treble) if end.beyond(limit)]
    if not fanned and len(off) < 2:
        return None
    if instrument.scale_bass_mm == instrument.scale_treble_mm:
        stands = f"{bass} (bass), {treble} (treble)" if fanned else str(_middle(bass, treble))
        return _line("scale_mm", f"{bass.said_mm:g}", stands, limit)
    if fanned and len(off) < 2:
        worst, other = sorted((bass, treble), key=lambda e: -abs(e.found_mm / e.said_mm - 1.0))
        key = f"scale_mm.{worst.name}"
        return _line(key, f"{worst.said_mm:g}", str(worst), limit, f"; {other.name} agrees")
    said = f"bass {bass.said_mm:g}, treble {treble.said_mm:g}"
    return _line("scale_mm", said, f"{bass} (bass), {treble} (treble)", limit)


def _ends(found: Numbering) -> tuple[_Ends, _Ends]:
    """(bass, treble)."""
    _, scale, skew, fan = found.fit.unknowns
    # a lane crosses the frets of a turned neck aslant, further apart than they are
    true = scale / np.hypot(1.0, skew)
    ends = []
    instrument = found.lay.instrument
    for name, string in (("bass", float(len(instrument.strings))), ("treble", 1.0)):
        of_mm = getattr(instrument, f"scale_{name}_mm")
        share = float(share_across(instrument, string))
        to_end = np.array([0.0, 1.0, 0.0, share])
        u = float(np.sqrt(to_end @ found.fit.covariance @ to_end))
        ends.append(_Ends(name, of_mm, float(of_mm * (true + share * fan)), u * of_mm))
    return ends[0], ends[1]


def _middle(bass: _Ends, treble: _Ends) -> _Ends:
    found = 0.5 * (bass.found_mm + treble.found_mm)
    return _Ends("both", bass.said_mm, found, 0.5 * (bass.u_mm + treble.u_mm))


def _line(key: str, said: str, stands: str, limit: float, more: str = "") -> str:
    return (
        f"{key}: the file says {said}, but the frets stand as on a scale of {stands}{more}; up to "
        f"{100 * limit:.2g} % could be the carriage's screw, this is not: correct {key}, or "
        "carriage.mm_per_count if that is wrong"
    )
