"""How many more dressings like the planned one each fret has, and what sparing one costs."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.limits import Limits
from analysis.plan.planner import Planner
from analysis.plan.programme import Solution
from analysis.plan.sensitivity import TENTH_MM
from analysis.plan.target import Target
from analysis.strings.playing import PlayingProfile

#: What a dressing takes off a fret where the plan takes nothing anywhere, mm (common practice,
#: no source).
USUAL_DRESSING_MM = 0.05
#: Less than this off a fret is no cut, mm: what a plan writes down as none.
NO_CUT_MM = 5e-5
#: Shares of its cut that the fret with the least life is asked to do with, the least first.
SHARES = (0.0, 0.25, 0.5, 0.75)
#: Sparing a fret may cost the others so much more metal, as a share of the plan's (own choice).
MOST_MORE = 0.25
#: Sparing a fret less than this share of a dressing is nothing to speak of (own choice).
WORTH_SHARE = 0.2


@dataclass(frozen=True, slots=True)
class FretLife:
    """One fret after the plan.

    height_mm, u_height_mm: where it is nearest to what the player needs, under `string`.
    room_mm: what is left there over that need, its guard band standing. cut_mm: what the plan
    takes off it at most; dressing_mm: what a dressing like this does. dressings: how many more
    it has, whole ones and parts. NaN, and string 0, where its height is not known.
    """

    fret: int
    string: int
    height_mm: float
    u_height_mm: float
    room_mm: float
    cut_mm: float
    dressing_mm: float
    dressings: float


@dataclass(frozen=True, slots=True)
class Spare:
    """A way to take less off a fret. string: whose highest action is raised by raise_mm for it,
    0 where none is. takes_mm: off the fret then, at most. metal_mm: more in all, negative: less.
    """

    string: int
    raise_mm: float
    takes_mm: float
    metal_mm: float
    dressings: float


@dataclass(frozen=True, slots=True)
class Life:
    """frets: least life first, unknown ones last. dressing_mm: what a dressing like this takes
    off a fret, the median over those the plan cuts; usual: it cuts none, and common practice
    stands in. dressings: the neck's, off every fret alike: its lowest fret's. spares: ways to
    spare the first of `frets`, where the plan cuts it; empty where there is none.
    """

    frets: tuple[FretLife, ...]
    dressing_mm: float
    usual: bool
    dressings: float
    spares: tuple[Spare, ...]


def life(planner: Planner, playing: PlayingProfile, target: Target, remove_mm: FloatArray) -> Life:
    """remove_mm: the plan's cuts, [frets, strings]; all zero where there is no plan."""
    limits = planner.limits(playing, target)
    cut = remove_mm.max(axis=1)
    touched = np.asarray(cut > NO_CUT_MM)
    dressing = float(np.median(cut[touched])) if touched.any() else USUAL_DRESSING_MM
    each = np.where(touched, cut, dressing)
    height = planner.shape.height_mm - remove_mm
    u = planner.shape.u_height_mm
    least = playing.least_height_mm(cut.size)[:, None]
    room = height - playing.guard * u - least
    known: NDArray[np.bool_] = np.any(np.isfinite(room), axis=1)
    lowest = np.argmin(np.where(np.isfinite(room), room, np.inf), axis=1)
    frets = np.arange(cut.size)
    at = (frets, lowest)
    left = np.where(known, np.clip(room[at], 0.0, None), np.nan)
    order = np.argsort(left / each, kind="stable")
    lives = tuple(
        FretLife(
            n + 1,
            int(lowest[n]) + 1 if known[n] else 0,
            float(height[n, lowest[n]]),
            float(u[n, lowest[n]]),
            float(left[n]),
            float(cut[n]) if touched[n] else 0.0,
            float(each[n]),
            float(left[n] / each[n]),
        )
        for n in order.tolist()
    )
    shortest = float(np.nanmin(left)) / dressing if known.any() else float("nan")
    spares = _spares(planner, playing, limits, lives[0]) if lives[0].cut_mm > 0.0 else ()
    return Life(lives, dressing, not touched.any(), shortest, spares)


def _spares(
    planner: Planner, playing: PlayingProfile, limits: Limits, first: FretLife
) -> tuple[Spare, ...]:
    """Within the player's limits, as far as that is cheap; and with a tenth more action on the
    string that spares it most."""
    plan = planner.solve(playing, limits)
    if not plan.feasible:
        return ()
    row = first.fret - 1

    def spare(done: Solution, string: int = 0, raise_mm: float = 0.0) -> Spare:
        takes = float(done.changes.remove_mm[row].max())
        more = (first.dressing_mm - takes) / first.dressing_mm
        return Spare(string, raise_mm, takes, done.metal_mm - plan.metal_mm, more)

    found = []
    for share in SHARES:
        most = limits.most_cut_mm.copy()
        spared = np.minimum(most[row], share * first.dressing_mm)
        most[row] = np.maximum(spared, limits.least_cut_mm[row])
        done = planner.solve(playing, replace(limits, most_cut_mm=most))
        if done.feasible and done.metal_mm <= (1.0 + MOST_MORE) * plan.metal_mm:
            found.append(spare(done))
            break
    higher = []
    for s in range(planner.setup.strings):
        action = limits.highest_action_mm.copy()
        action[s] += TENTH_MM
        done = planner.solve(playing, replace(limits, highest_action_mm=action))
        if done.feasible:
            higher.append(spare(done, s + 1, TENTH_MM))
    found += sorted(higher, key=lambda one: one.takes_mm)[:1]
    return tuple(one for one in found if one.dressings >= WORTH_SHARE)
