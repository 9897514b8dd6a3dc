"""Loose or rocking frets, as one scan shows them: passes over one fret that disagree."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.neck import Neck
from analysis.wear.unworn import independent_mm, unworn_lines

#: A pass less another is out of line past so many of its standard uncertainties: with some 250
#: crowns in a scan, chance alone gives that once in ten thousand scans.
SIGMAS = 5.0
#: A fret that moves by less under the tip does not buzz or rattle, mm (own choice: a tenth of
#: the room that a string has over the next fret).
LEAST_MM = 0.006
#: One lane alone is a speck on the crown in one pass, not a fret that moves.
FEWEST_LANES = 2
#: Lanes that stand this far over the line of the rest of their fret are more than a file leaves
#: of a fret that is pressed home, mm (own choice).
JUMP_MM = 0.02


@dataclass(frozen=True, slots=True)
class Loose:
    """A fret that does not keep its height.

    fret: from 1. strings: where it shows; 2.5 is between strings 2 and 3. size_mm, u_mm: the
    largest disagreement and its standard uncertainty. why: "ways disagree", "lanes disagree",
    "scans disagree" or "strung and unstrung disagree".
    """

    fret: int
    strings: tuple[float, ...]
    size_mm: float
    u_mm: float
    why: str


def loose_frets(neck: Neck) -> tuple[Loose, ...]:
    """Frets over which passes of one scan disagree, one entry a fret.

    A tip that rubs over a fret pushes it over and down, one way and then the other: forward less
    backward then differs from what it is on the other frets of the same lanes. A fret that
    rises between two lanes, or whose end has sprung, has lanes that stand over the line of the
    rest, which wear never does. What one fret alone shows is not what the rig does: lag,
    backlash and drift are the same on all of them.
    """
    line = unworn_lines(neck)
    standing = np.maximum(line.off_mm, 0.0)
    found = [
        *_odd(neck, *ways_off_mm(neck), LEAST_MM, "ways disagree"),
        *_odd(neck, standing, line.u_mm, JUMP_MM, "lanes disagree"),
    ]
    first = {one.fret: one for one in reversed(found)}
    return tuple(first[fret] for fret in sorted(first))


def _odd(
    neck: Neck, off_mm: FloatArray, u_mm: FloatArray, least_mm: float, why: str
) -> list[Loose]:
    """Frets with enough lanes out of line."""
    size = np.nan_to_num(np.abs(off_mm))
    odd = (size > SIGMAS * u_mm) & (size > least_mm)
    found = []
    for fret in np.flatnonzero(np.count_nonzero(odd, axis=1) >= FEWEST_LANES):
        worst = int(np.argmax(np.where(odd[fret], size[fret], 0.0)))
        strings = tuple(float(string) for string in neck.string[odd[fret]])
        of = float(size[fret, worst]), float(u_mm[fret, worst])
        found.append(Loose(int(fret) + 1, strings, *of, why))
    return found


def ways_off_mm(neck: Neck) -> tuple[FloatArray, FloatArray]:
    """Forward less backward, what is common to a lane's frets taken off, and its u, [frets, lanes].

    One pass has sqrt(2) of the u of both ways' mean, the difference of two twice it. Where the
    scan's own scatter is larger than that, it counts.
    """
    off = 1e-3 * neck.ways_um
    seen = np.any(np.isfinite(off), axis=0)
    off = off - np.nanmedian(np.where(seen, off, 0.0), axis=0)
    u = 2.0 * independent_mm(neck)
    ratio = np.abs(off / u)[:, seen]
    spread = 1.4826 * float(np.nanmedian(ratio)) if seen.any() else 1.0
    return off, u * max(1.0, spread)
