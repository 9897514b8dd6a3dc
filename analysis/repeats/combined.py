"""Repeated scans of one state combined into one neck, what is off in them named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.faults import NeckError
from analysis.findings.fingerprint import check_one_neck
from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.neck.neck import Neck
from analysis.repeats.averaged import averaged
from analysis.repeats.fits import check_fits
from analysis.repeats.judged import Judged
from analysis.repeats.laid import lay
from analysis.repeats.places import DoesNotFit, Places, anew_mm, heights
from analysis.wear.loose import Loose

#: Dirt lies under a lane or two of a fret, a fret that moves does under more (own choice).
FEWEST_LANES = 3


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A scan that does not fit the latest, and why; scans count from 0, the oldest."""

    scan: int
    why: str


@dataclass(frozen=True, slots=True)
class Outlier:
    """A top of one scan that is off what the others say, and left out; string 2.5 is midway.

    scan: None where it cannot be told which scan is off: off_mm is then the furthest one's less
    the others' mean, and half of the spread is in the top's uncertainty.
    """

    scan: int | None
    fret: int
    string: float
    off_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True)
class Combined:
    """One neck of several scans, in the latest one's frame. used: scans, the latest last.

    loose: frets about which scans disagree over several lanes, all the same way.
    """

    neck: Neck
    used: tuple[int, ...]
    left_out: tuple[LeftOut, ...]
    outliers: tuple[Outlier, ...]
    loose: tuple[Loose, ...] = ()


def combined(necks: Sequence[Neck], instrument: Instrument) -> Combined:
    """Scans of one neck in one state, oldest first, as one; no metal came off between them.

    How each lies on the rig is found on tops and board together and taken out. Then:

    - The latest scan stands: an earlier one that does not fit it is left out.
    - A single top of one scan that is off the others is left out.
    - Tops and board are means, weighted by what each scan draws anew. What scans draw anew is
      their noise and drift, and as much of the other stated uncertainty as they are seen to
      scatter by; that falls with sqrt(n_eff), the rest is shared and stays.
    - Heights are in the latest scan's frame. The bend is the mean of all: what clamping does to
      a neck is no part of its shape, so clampings are averaged, and how far they scatter is the
      term `clamping` (Student's t at one deviation; JCGM 100, G.3).
    """
    latest = necks[-1]
    places = Places.of(latest, instrument.body_joint_fret, joint_mm(instrument))
    used, left_out = _fitting(necks, places)
    if len(used) == 1:
        return Combined(latest, used, left_out, ())
    chosen = [necks[scan] for scan in used]
    laid = lay(chosen, places)
    tops, board = (
        Judged.of(*both)
        for both in zip(places.split(laid.flat_mm), places.split(laid.u_mm), strict=True)
    )
    neck = averaged(chosen, tops, board, laid, places)
    outliers = _outliers(tops, used, latest.string)
    return Combined(neck, used, left_out, outliers, _loose(outliers))


def _fitting(necks: Sequence[Neck], places: Places) -> tuple[tuple[int, ...], tuple[LeftOut, ...]]:
    """The scans that fit the latest, itself among them, and those that do not."""
    latest = necks[-1]
    used, left_out = [], []
    for scan, neck in enumerate(necks[:-1]):
        u = np.hypot(anew_mm(neck), anew_mm(latest))
        try:
            earlier = heights(neck, latest)
            check_one_neck(neck, latest)
            check_fits(places, earlier, heights(latest, latest), u)
            used.append(scan)
        except (DoesNotFit, NeckError) as why:
            left_out.append(LeftOut(scan, str(why)))
    return (*used, len(necks) - 1), tuple(left_out)


def _outliers(tops: Judged, used: Sequence[int], string: FloatArray) -> tuple[Outlier, ...]:
    """By fret, then string, then scan."""
    off, u = tops.off_the_others()
    out = []
    for fret, lane in np.argwhere(tops.unsure):
        out.append((fret, lane, None, int(np.nanargmax(np.abs(off[:, fret, lane])))))
    for scan, fret, lane in np.argwhere(tops.dropped):
        out.append((fret, lane, scan, scan))
    return tuple(
        Outlier(
            None if scan is None else used[scan],
            int(fret) + 1,
            float(string[lane]),
            float(off[at, fret, lane]),
            float(u[at, fret, lane]),
        )
        for fret, lane, scan, at in sorted(out, key=lambda one: (one[0], one[1], one[3]))
    )


def _loose(outliers: Sequence[Outlier]) -> tuple[Loose, ...]:
    """One entry a fret, of the scan in which most of it is off."""
    found = []
    for fret in sorted({one.fret for one in outliers}):
        of_fret = [one for one in outliers if one.fret == fret]
        groups = [
            [one for one in of_fret if (one.scan, one.off_mm > 0.0) == which]
            for which in {(one.scan, one.off_mm > 0.0) for one in of_fret}
        ]
        most = max(groups, key=lambda group: (len(group), max(abs(one.off_mm) for one in group)))
        if len(most) >= FEWEST_LANES:
            size = max(most, key=lambda one: abs(one.off_mm))
            strings = tuple(one.string for one in most)
            found.append(Loose(fret, strings, abs(size.off_mm), size.u_mm, "scans disagree"))
    return tuple(found)
