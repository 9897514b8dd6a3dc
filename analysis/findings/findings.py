"""What two scans show besides a neck that bent: said, not averaged away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from analysis.findings.standouts import Standout, standouts
from analysis.findings.stood import Stood, how_it_stood
from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.movement.changes import board_change, shared_lanes, top_change
from analysis.movement.movement import Field
from analysis.neck.neck import Neck
from analysis.wear.loose import Loose

Kind = Literal[
    "capo", "covered", "loose fret", "loose end", "one place", "step", "filed", "unlike",
    "shifted", "raised", "tilted", "turned",
]  # fmt: skip

#: No dirt on the board is so thick, and no fret looser than it is tall, mm: something lies on
#: the neck (own choice).
COVERED_MM, TALL_MM = 0.3, 1.0
#: Where the field itself is less sure than this it says nothing of that, mm.
LEAST_SURE_MM = 0.05
#: And it lies on most lanes.
COVERED_SHARE = 0.5
#: More frets than this that are no part of the movement are not each a loose fret (own choice).
MANY_FRETS = 5
#: And this share of them, all higher or all lower, were filed, or are another neck's.
ONE_WAY = 0.9
_KINDS: dict[str, Kind] = {
    "fret": "loose fret", "end": "loose end", "spot": "one place", "step": "step",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing. fret: None where it is of the whole neck; a step lies before it. string: of
    the lane or of the fret's end, else None. size_mm: strung less unstrung, NaN where a top is
    hidden; shifted is along the neck, tilted from fret 1 to the body joint, turned over the
    board's width."""

    kind: Kind
    fret: int | None
    string: float | None
    size_mm: float
    u_mm: float

    @property
    def harmless(self) -> bool:
        """Allowed for: heights and relief do not depend on it."""
        return self.kind in ("shifted", "raised", "tilted", "turned")


def findings(
    strung: Neck, unstrung: Neck, field: Field, instrument: Instrument
) -> tuple[Finding, ...]:
    """What to look after first: what lies on the neck, frets, steps, then how the neck stood.

    field: of `strung` less `unstrung`. Raises ValueError where no lane is shared.
    """
    change = top_change(strung, unstrung)
    x, y, dz = change.x_mm, change.y_mm, change.dz_mm
    covered = _covered(strung, unstrung, field)
    for one in covered:
        dz[(one.fret or 0) - 1] = np.nan
    out = standouts(field, x, y, dz, change.u_mm)
    off = (dz - field.at(x, y)[0])[field.odd & np.isfinite(dz)]
    higher = float(np.mean(off > 0.0)) if off.size else 0.5
    stood = how_it_stood(strung, unstrung, field, instrument.board_width_mm, joint_mm(instrument))
    lanes, _ = shared_lanes(strung, unstrung)
    return *covered, *_of_frets(out, strung.string[lanes], higher), *map(_of_stand, stood)


def loose_of(found: tuple[Finding, ...]) -> tuple[Loose, ...]:
    """The frets that are loose, whole or by one end."""
    return tuple(
        Loose(
            one.fret,
            () if one.string is None else (one.string,),
            abs(one.size_mm),
            one.u_mm,
            "strung and unstrung disagree",
        )
        for one in found
        if one.fret is not None and one.kind in ("loose fret", "loose end")
    )


def _of_frets(out: tuple[Standout, ...], strings: FloatArray, higher: float) -> list[Finding]:
    """higher: share of the tops off the field that are."""
    each = [
        Finding(
            _KINDS[one.what],
            one.fret + 1,
            None if one.lane is None else float(strings[one.lane]),
            one.size_mm,
            one.u_mm,
        )
        for one in out
    ]
    steps = [one for one in each if one.kind == "step"]
    tops = [one for one in each if one.kind != "step"]
    if len({one.fret for one in tops}) <= MANY_FRETS:
        return sorted(each, key=lambda one: (one.fret or 0, one.string or 0.0))
    kind: Kind = "filed" if max(higher, 1.0 - higher) >= ONE_WAY else "unlike"
    most = [one for one in tops if (one.size_mm > 0.0) == (higher > 0.5)]
    largest = max(most or tops, key=lambda one: abs(one.size_mm))
    return [Finding(kind, None, None, largest.size_mm, largest.u_mm), *steps]


def _of_stand(stood: Stood) -> Finding:
    return Finding(stood.how, None, None, stood.size_mm, stood.u_mm)


def _covered(strung: Neck, unstrung: Neck, field: Field) -> list[Finding]:
    """Frets hidden or far too high in one scan, and gaps before them, over most lanes."""
    i, j = shared_lanes(strung, unstrung)
    tops, board = top_change(strung, unstrung), board_change(strung, unstrung)
    top = tops.dz_mm - field.at(tops.x_mm, tops.y_mm)[0]
    bent, u_bent = field.at(board.x_mm, board.y_mm)
    # past the frets the field knows little
    gap = np.where(u_bent < LEAST_SURE_MM, board.dz_mm - bent, 0.0)
    hidden = np.isnan(strung.top_mm[:, i]), np.isnan(unstrung.top_mm[:, j])
    out = []
    ways: tuple[tuple[Kind, float], ...] = (("capo", 1.0), ("covered", -1.0))
    for (kind, sign), gone, there in zip(ways, hidden, hidden[::-1], strict=True):
        lies = (sign * top > TALL_MM) | (gone & ~there) | (sign * gap > COVERED_MM)
        for f in np.flatnonzero(np.mean(lies, axis=1) > COVERED_SHARE).tolist():
            lumps = np.concatenate([top[f], gap[f]])
            high = lumps[sign * lumps > COVERED_MM]
            size = float(np.median(high)) if high.size else np.nan
            u = float(1.2533 * np.std(high) / np.sqrt(high.size)) if high.size else np.nan
            out.append(Finding(kind, f + 1, None, size, u))
    return out
