"""What hangs on a top: its cut, and what would touch if it were not where it was read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.findings.findings import Finding
from analysis.instrument import FloatArray
from analysis.neck.shape import Shape
from analysis.neck.tops import UNSEEN_WEAR_MM
from analysis.plan.margins import IntArray, Margins
from analysis.plan.planner import Planner
from analysis.plan.programme import Prices
from analysis.wear.loose import Loose
from analysis.wear.wear import SURE, Wear, bridged_mm

#: A top less sure than this is doubtful whatever its status, mm: string heights by hand, which
#: every margin carries, are no better known (own choice: half of theirs).
UNSURE_MM = 0.01
#: A top that may err by so much before anything touches has nothing to speak of hanging on it,
#: mm (own choice: what wear may hide from the lanes beside a string, twice over).
FREE_MM = 0.04
#: A dent may be deeper than the tip could reach by this much, mm: what wear is taken to hide
#: wherever it is not seen (common practice, no source).
DEEPER_MM = UNSEEN_WEAR_MM
#: Less than this a cut is none, mm, and a price none: what the solver leaves of zero.
NO_CUT_MM, NO_PRICE = 5e-5, 1e-6


@dataclass(frozen=True, slots=True)
class Suspect:
    """A top in doubt. why: "inferred", "not seen", "unsure", "dent", "scans disagree", or the
    scan's own status.
    """

    fret: int
    string: int
    why: str


@dataclass(frozen=True, slots=True)
class Touch:
    """The first string to touch: fretted at (0: open), over fret `at`, where the top errs by
    `by_mm`; infinite where nothing would that does not touch as it is."""

    by_mm: float
    string: int = 0
    fretted: int = 0
    at: int = 0


@dataclass(frozen=True, slots=True)
class Hanging:
    """What a plan does with one top under a string.

    cut_mm: comes off. u_mm: of the top; NaN: it was not seen. higher, lower: the first touch if
    it stands higher, or lower, than read, no guard counted. metal: mm of metal in all, for one
    mm that it stands higher (negative: less), close by; NaN without a plan.
    """

    fret: int
    string: int
    cut_mm: float
    u_mm: float
    higher: Touch
    lower: Touch
    metal: float

    def matters(self, why: str) -> bool:
        """Cut, or held by, or near enough to touch; a dent can only be deeper than read."""
        if why == "dent":
            return self.lower.by_mm < DEEPER_MM
        near = min(self.higher.by_mm, self.lower.by_mm) < FREE_MM
        return self.cut_mm > NO_CUT_MM or abs(self.metal) > NO_PRICE or near


def suspects(
    strung: Shape,
    unstrung: Shape,
    wear: Wear | None = None,
    ball_mm: float = 0.0,
    disagreeing: Sequence[tuple[int, float]] = (),
) -> tuple[Suspect, ...]:
    """Tops in doubt, by fret, then string.

    The strung tops are the unstrung ones moved, so what the unstrung scan says of them stands.
    disagreeing: (fret, string) of which repeated scans say different things. A dent counts where
    the tip may have stood on its edges: no lane beside the string shows it to be wide.
    """
    torn = {(fret, round(string)) for fret, string in disagreeing if float(string).is_integer()}
    narrow = _narrow(wear, ball_mm) if wear is not None else np.zeros(strung.top_mm.shape, bool)
    out = []
    for f, s in np.ndindex(strung.top_mm.shape):
        status, u = str(unstrung.status[f, s]), float(strung.u_top_mm[f, s])
        why = ""
        if not np.isfinite(strung.top_mm[f, s]):
            why = "not seen"
        elif status != "ok":
            why = status
        elif (f + 1, s + 1) in torn:
            why = "scans disagree"
        elif u > UNSURE_MM:
            why = "unsure"
        elif narrow[f, s]:
            why = "dent"
        if why:
            out.append(Suspect(f + 1, s + 1, why))
    return tuple(out)


def _narrow(wear: Wear, ball_mm: float) -> NDArray[np.bool_]:
    """[frets, strings]: dents that may be too narrow for the tip."""
    depth = np.nan_to_num(wear.dent_mm)
    sure = depth > SURE * np.nan_to_num(wear.u_dent_mm, nan=np.inf)
    least = np.array([bridged_mm(float(d), ball_mm) for d in depth.ravel()]).reshape(depth.shape)
    wide = np.nan_to_num(wear.dent_width_mm) >= least
    return np.asarray(sure & ~wide & (least > 0.0))


def hangings(
    planner: Planner,
    margins: Margins,
    clearance_mm: FloatArray,
    prices: Prices | None,
    remove_mm: FloatArray,
    places: Iterable[tuple[int, int]] | None = None,
) -> dict[tuple[int, int], Hanging]:
    """By (fret, string), of the tops at these places; None: of every top.

    margins: with this player's needs; clearance_mm: of each, as the plan leaves it; prices: of
    the plan, None where there is none. remove_mm: [frets, strings].
    """
    spare = clearance_mm - margins.swing_mm
    nodes = sparse.csc_array(margins.nodes)
    metal = np.full(nodes.shape[1], np.nan)
    if prices is not None:
        metal = np.asarray(-(prices.margin @ margins.nodes))
    out = {}
    every = ((f + 1, s + 1) for f, s in np.ndindex(remove_mm.shape))
    for f, s in ((fret - 1, string - 1) for fret, string in (every if places is None else places)):
        node = f * (2 * remove_mm.shape[1] - 1) + 2 * s
        inside = slice(nodes.indptr[node], nodes.indptr[node + 1])
        rows, weights = nodes.indices[inside].astype(np.int_), nodes.data[inside]
        out[f + 1, s + 1] = Hanging(
            f + 1,
            s + 1,
            float(remove_mm[f, s]),
            float(planner.shape.u_top_mm[f, s]),
            _first(margins, spare, rows[weights < 0], -weights[weights < 0]),
            _first(margins, spare, rows[weights > 0], weights[weights > 0]),
            float(metal[node]),
        )
    return out


def _first(margins: Margins, spare_mm: FloatArray, rows: IntArray, weights: FloatArray) -> Touch:
    """Of the rows that do not touch as it is."""
    by = np.where(spare_mm[rows] > 0.0, spare_mm[rows] / weights, np.inf)
    if not np.isfinite(by).any():
        return Touch(float("inf"))
    i = int(rows[np.argmin(by)])
    return Touch(
        float(by.min()), int(margins.string[i]), int(margins.fretted[i]), int(margins.at[i])
    )


def frets_of(findings: Sequence[Finding], loose: Sequence[Loose], frets: int) -> dict[int, str]:
    """Whole frets in doubt and why: "loose", or the finding's kind. A step, and frets filed or
    unlike between two scans, put every fret in doubt."""
    found: dict[int, str] = {}
    for one in findings:
        if one.harmless or one.kind in ("loose fret", "loose end"):
            continue
        if one.kind in ("filed", "unlike", "step") or one.fret is None:
            found.update(dict.fromkeys(range(1, frets + 1), one.kind))
        else:
            found[one.fret] = one.kind
    found.update({one.fret: "loose" for one in loose})
    return found
