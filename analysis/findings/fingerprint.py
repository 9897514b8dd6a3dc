"""Whether two scans show the same neck: its frets' own places and heights tell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.faults import NeckError
from analysis.instrument import FloatArray
from analysis.movement.changes import shared_lanes
from analysis.neck.neck import Neck

#: Frets of one neck stand this near to where they stood, mm: a crowning file may move an apex,
#: a lead screw repeats itself to some micrometres (own choice).
PLACES_MM = 0.008
#: A fret whose height over the board changed by more is another fret, or was filed (own choice).
HEIGHT_MM = 0.01
#: So many frets must be higher, and as many lower: one could be loose (own choice).
EITHER_WAY = 2
#: And this share of all frets, where nothing but heights can tell (own choice).
ALONE_SHARE = 1 / 6
#: Under so many frets nothing can be said.
FEWEST_FRETS = 8
#: A neck that bends carries its tops along x, with the slope: smooth, and no fret's own.
_SMOOTH_TERMS = 4


@dataclass(frozen=True, slots=True)
class Likeness:
    """How alike two scans' frets are, one less the other.

    places_mm: typical difference of the frets' own places along the neck. own_mm: how far
    frets typically stand from their smooth pattern, in the scan that shows more of that.
    higher, lower: frets whose height over the board changed by 0.01 mm more, or less, than the
    middle one's. raised, lowered: by more than that outright. frets: seen in both.
    """

    places_mm: float
    own_mm: float
    higher: int
    lower: int
    raised: int
    lowered: int
    frets: int

    def one_neck(self, filed: bool) -> bool:
        """Not contradicted. filed: the frets may have been, between the scans.

        Nothing moves most frets and raises some against the others; files lower frets and may
        move an apex, so that after them some must be outright higher. Where frets stand so true
        that their places say nothing, the heights decide alone.
        """
        if self.frets < FEWEST_FRETS:
            return True
        if self.own_mm <= PLACES_MM:
            return min(self.raised, self.lowered) < ALONE_SHARE * self.frets
        if self.places_mm <= PLACES_MM:
            return True
        up, down = (self.raised, self.lowered) if filed else (self.higher, self.lower)
        return min(up, down) < EITHER_WAY


def likeness(one: Neck, other: Neck) -> Likeness:
    """Of two scans in any state, clamped anyhow. Raises ValueError where no lane is shared."""
    i, j = shared_lanes(one, other)
    places = [
        _by_fret(neck.apex_x_mm[:, k] - neck.x_mm[:, k]) for neck, k in ((one, i), (other, j))
    ]
    change = _by_fret(one.height_mm[:, i] - other.height_mm[:, j])
    x = np.mean(one.x_mm[:, i], axis=1)
    seen = np.isfinite(places[0] - places[1]) & np.isfinite(change)
    if np.count_nonzero(seen) < FEWEST_FRETS:
        return Likeness(np.nan, np.nan, 0, 0, 0, 0, int(np.count_nonzero(seen)))
    against = change[seen] - np.median(change[seen])
    return Likeness(
        _typical(_own(x[seen], places[0][seen] - places[1][seen])),
        max(_typical(_own(x[seen], each[seen])) for each in places),
        int(np.count_nonzero(against > HEIGHT_MM)),
        int(np.count_nonzero(against < -HEIGHT_MM)),
        int(np.count_nonzero(change[seen] > HEIGHT_MM)),
        int(np.count_nonzero(change[seen] < -HEIGHT_MM)),
        int(np.count_nonzero(seen)),
    )


def check_one_neck(one: Neck, other: Neck, filed: bool = False) -> None:
    """Raises NeckError where two scans show two necks. filed: frets may have been, in between."""
    found = likeness(one, other)
    if found.one_neck(filed):
        return
    raise NeckError(
        "these two scans do not show the same neck: from one to the other the frets stand "
        f"{found.places_mm:.3f} mm elsewhere along it (one neck's agree within {PLACES_MM} mm), "
        f"{found.higher} frets are higher over the board and {found.lower} lower, by more than "
        f"{HEIGHT_MM} mm; find out which instrument lay on the rig, and scan the other one again"
    )


def _by_fret(values: FloatArray) -> FloatArray:
    """[frets]: median over the lanes that show the fret."""
    masked = np.ma.median(np.ma.masked_invalid(values), axis=1)  # type: ignore[no-untyped-call]
    return np.asarray(np.ma.filled(masked, np.nan))


def _own(x: FloatArray, off: FloatArray) -> FloatArray:
    """What is each fret's own: less a cubic, robustly (three times, without what is far off)."""
    t = (x - x.mean()) / np.ptp(x)
    keep = np.ones(x.size, dtype=bool)
    left = off
    for _ in range(3):
        left = off - np.polyval(np.polyfit(t[keep], off[keep], _SMOOTH_TERMS - 1), t)
        near = np.abs(left) <= 3.0 * max(_typical(left), 1e-6)
        keep = near if np.count_nonzero(near) > FEWEST_FRETS // 2 else keep
    return left


def _typical(off: FloatArray) -> float:
    return 1.4826 * float(np.median(np.abs(off)))
