"""The bend of the neck at which a beam does most."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from analysis.bench.placing import Placed, Work, best_work
from analysis.bench.straight import Lines
from analysis.instrument import FloatArray

IntArray = NDArray[np.int_]
Where = tuple[tuple[int, int], ...]
#: The rod is tried so often along its range, unturned among them.
STEPS = 33
#: So many of the best tried are improved.
STARTS = 3
#: A bend that does less than this share of the plan more than a smaller one is not worth
#: turning for (own choice).
WORTH_BENDING = 0.01


def best_rod(lines: Lines, where: Where, most_mm: float) -> Work:
    """The rod tried along its range, the best of it improved, the least bent of the good."""
    bends = np.linspace(-most_mm, most_mm, STEPS)
    tried = [best_work(lines, where, np.array([bent])) for bent in bends]
    tried.sort(key=lambda work: (-round(work.done_mm, 6), abs(float(work.bent[0]))))
    best = [improved(lines, where, np.array([most_mm]), work) for work in tried[:STARTS]]
    return _least_bent([*tried, *best], lines, np.array([most_mm]))


def best_prop(lines: Lines, where: Where, most_mm: FloatArray, alone: Work) -> Work:
    """Rod and prop together, from the best of the rod alone: never less than that."""
    starts = [Work(np.append(alone.bent, 0.0), alone.placed, alone.taken_mm)]
    for half in (-0.5, 0.5):
        bent = np.append(alone.bent, half * most_mm[1])
        starts.append(best_work(lines, where, bent))
    best = [improved(lines, where, most_mm, work) for work in starts]
    return _least_bent(best, lines, most_mm)


def _least_bent(found: list[Work], lines: Lines, most_mm: FloatArray) -> Work:
    """Of results that are as good as the best, but for WORTH_BENDING."""
    enough = max(work.done_mm for work in found) - WORTH_BENDING * float(lines.remove_mm.sum())
    good = [work for work in found if work.done_mm >= enough]
    return min(good, key=lambda work: float(np.sum(np.abs(work.bent) / most_mm)))


def improved(lines: Lines, where: Where, most_mm: FloatArray, work: Work) -> Work:
    """From one bend and its lines to a better one, as long as there is one.

    With its lines kept, what a beam takes is convex in the bend: it is most where a line meets
    a third planned top, a corner that a linear programme finds; there other lines may take
    more, and so on.
    """
    while work.placed:
        rows, right = _kept(lines, work)
        bounds = [(-float(m), float(m)) for m in most_mm]
        corner = linprog(-_gain(lines, work), A_ub=rows, b_ub=right, bounds=bounds, method="highs")
        if corner.x is None:
            break
        better = best_work(lines, where, np.asarray(corner.x))
        if better.done_mm <= work.done_mm + 1e-7:
            break
        work = better
    return work


Index = tuple[IntArray, IntArray, IntArray]


def _chosen(placed: Placed) -> Index:
    """Line, fret and string of every place under the beam, [strings in work, frets under it]."""
    strings = np.flatnonzero(placed.line >= 0)[:, None]
    return placed.line[strings], np.arange(placed.first, placed.last + 1)[None], strings


def _kept(lines: Lines, work: Work) -> tuple[FloatArray, FloatArray]:
    """The lines in use stay on or over the plan: rows for the bend."""
    rows, right = [], []
    for placed in work.placed:
        chosen = _chosen(placed)
        gap = lines.gap_mm[chosen]
        seen = np.isfinite(gap)
        for case in lines.bends:
            rows.append(-case[:, *chosen][:, seen].T)
            right.append(gap[seen])
    # rounding must not shut out the bend one stands on
    return np.concatenate(rows), np.concatenate(right) + 1e-10


def _gain(lines: Lines, work: Work) -> FloatArray:
    """What each way adds to the total for a small step, the lines kept, [ways]."""
    most = np.zeros_like(lines.remove_mm)
    slope = np.zeros((work.bent.size, *most.shape))
    taken = lines.taken_mm(lines.gaps_mm(work.bent)[0])
    for placed in work.placed:
        chosen = _chosen(placed)
        frets, strings = chosen[1:]
        more = taken[chosen] > most[frets, strings]
        here = slope[:, frets, strings]
        slope[:, frets, strings] = np.where(more, -lines.bends[0][:, *chosen], here)
        most[frets, strings] = np.maximum(taken[chosen], most[frets, strings])
    return np.asarray(np.nansum(slope, axis=(1, 2)))
