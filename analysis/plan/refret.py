"""Which frets to replace: the fewest whose tops, made anew, let a plan work."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.shape import Shape
from analysis.plan.conflict import Conflicts
from analysis.plan.cure import Cure, least_steps
from analysis.plan.demands import Demands, demands
from analysis.plan.planner import Planner
from analysis.plan.programme import Programme, Solution
from analysis.plan.setup import bridged
from analysis.plan.target import Target
from analysis.strings.playing import PlayingProfile

#: Crowns of new frets, lowest and highest, mm (common practice, no source; values from memory).
NEW_CROWN_MM = (0.9, 1.4)
CROWN_STEP_MM = 0.05
#: More frets than this are a whole refret (own choice).
MOST_FRETS = 6
#: So many sets of frets are tried before it comes to that.
MOST_TRIED = 12
#: So many sets of as few frets are compared by their metal.
MOST_COMPARED = 3
#: So many things in the way are looked for at a time.
SETS_AT_ONCE = 12


@dataclass(frozen=True, slots=True)
class Refret:
    """A fret to replace, and why, in words."""

    fret: int
    why: str


def worn_out(shape: Shape, playing: PlayingProfile) -> tuple[Refret, ...]:
    """Frets worn below what the player needs, beyond doubt."""
    least = playing.least_height_mm(shape.height_mm.shape[0])
    low = shape.height_mm + 2.0 * shape.u_height_mm < least[:, None]
    found = []
    for fret in np.flatnonzero(low.any(axis=1)).tolist():
        lowest = int(np.nanargmin(np.where(low[fret], shape.height_mm[fret], np.nan)))
        height = shape.height_mm[fret, lowest]
        digits = 2 if least[fret] - height >= 0.01 else 3
        why = (
            f"{height:.{digits}f} mm high under string {lowest + 1}, "
            f"the player needs {least[fret]:.2f} mm"
        )
        found.append(Refret(fret + 1, why))
    return tuple(found)


def refret(planner: Planner, playing: PlayingProfile, target: Target) -> Cure | None:
    """The fewest frets, those worn out among them, and the lowest new crown that will do.

    Each set that cannot be met names frets of which one at least must be new, or none will help;
    the fewest frets that answer all of those sets are tried, and what then cannot be met names
    the next (implicit hitting sets: the first that works is of the fewest). Among as few the
    least metal. More than MOST_FRETS are all of them: a whole refret.
    """
    worn = [frozenset({one.fret}) for one in worn_out(planner.shape, playing)]
    to_hit: list[frozenset[int]] = list(worn)
    tried: set[frozenset[int]] = set()
    while len(tried) < MOST_TRIED:
        sets = [new for new in fewest_hitting(to_hit, MOST_FRETS) if new not in tried]
        works = []
        for new in _lowest_first(planner.shape, sets)[:MOST_COMPARED]:
            tried.add(new)
            unhit = _in_the_way(planner, playing, target, new)
            if not all(unhit):
                return None
            to_hit += unhit
            if unhit:
                break
            works.append(_with_new(planner, playing, target, new))
        done = [cure for cure in works if cure is not None]
        if done or not sets:
            break
    else:
        done = []
    if done:
        return min(done, key=lambda cure: cure.metal_mm)
    return _with_new(planner, playing, target, frozenset(range(1, planner.setup.frets + 1)))


def _lowest_first(shape: Shape, sets: list[frozenset[int]]) -> list[frozenset[int]]:
    """Sets of the lowest frets first: what is worn most costs the others most."""
    height = np.nan_to_num(np.nanmean(shape.height_mm, axis=1))
    return sorted(sets, key=lambda new: sum(height[fret - 1] for fret in new))


def fewest_hitting(to_hit: list[frozenset[int]], most: int) -> list[frozenset[int]]:
    """Every set of the fewest members, `most` at the most, that meets each set given."""
    reached = {frozenset[int]()}
    for _ in range(most + 1):
        hit = [one for one in reached if all(one & given for given in to_hit)]
        if hit:
            return sorted(hit, key=sorted)
        reached = {
            one | {member}
            for one in reached
            for member in next(given for given in to_hit if not one & given)
        }
    return []


def _in_the_way(
    planner: Planner, playing: PlayingProfile, target: Target, new: frozenset[int]
) -> list[frozenset[int]]:
    """With these frets new: of each set that cannot be met the frets that might help it."""
    again = with_new_frets(planner, new, NEW_CROWN_MM[1])
    asked = demands(again.rows, again.margins, again.limits(playing, target))
    conflicts = Conflicts(asked)
    among = np.ones(asked.size, dtype=bool)
    found: list[frozenset[int]] = []
    while len(found) < SETS_AT_ONCE:
        y = conflicts.weights(among)
        if y is None:
            break
        among &= y <= 0.0
        found.append(_helping(asked, y, again.setup.frets, again.setup.strings) - new)
    return found


def _helping(asked: Demands, y: FloatArray, frets: int, strings: int) -> frozenset[int]:
    """Frets, from 1, that bear on a set by more than how deep they are cut.

    Where a fret is not among them, a new one leaves the set as it cannot be met: a straight
    string feels its top alone, and the set does not ask for it to be higher.
    """
    members = [asked.member(i) for i in np.flatnonzero(y > 0.0).tolist()]
    higher = (asked.matrix.T @ y)[: frets * strings].reshape(frets, strings) < -1e-9 * y.max()
    named = set((np.flatnonzero(higher.any(axis=1)) + 1).tolist())
    for member in members:
        if member.bend:
            named |= {member.fretted, member.at}
        elif member.kind != "margin" and member.at:
            named.add(member.at)
    return frozenset(named)


def with_new_frets(planner: Planner, new: frozenset[int], crown_mm: float) -> Planner:
    """The neck with these frets (from 1) new: crowns of one height over the board as it is.

    The board under a new fret is where the old one's height says it is; midway between strings
    it follows the arc. A new top is as well known as the others. Nut and saddles stay where they
    are.
    """
    if not new:
        return planner
    shape, setup = planner.shape, planner.setup
    rows = np.array(sorted(new)) - 1
    board = bridged(shape.x_mm, setup.top_mm - shape.height_mm)[rows]
    y = setup.node_y_mm[rows, ::2]
    rise = 0.125 * setup.curvature[rows, None] * np.diff(y, axis=1) ** 2
    z, u, height = setup.node_z_mm.copy(), setup.u_node_mm.copy(), shape.height_mm.copy()
    z[rows, ::2] = board + crown_mm
    z[rows, 1::2] = 0.5 * (board[:, :-1] + board[:, 1:]) + rise + crown_mm
    u[rows] = np.where(np.isfinite(u[rows]), u[rows], np.nanmedian(u))
    height[rows] = crown_mm
    u_height = shape.u_height_mm.copy()
    u_height[rows] = np.nan_to_num(u_height[rows], nan=float(np.nanmedian(u_height)))
    remade = replace(setup, node_z_mm=z, u_node_mm=u)
    known = planner.margins.known_to(remade)
    now = replace(
        planner.rows,
        now_mm=known.clearance_mm(z, setup.nut_mm, setup.saddle_mm),
        action_now_mm=planner.rows.action_now_mm + setup.top_mm[11] - remade.top_mm[11],
    )
    return replace(
        planner,
        shape=replace(shape, height_mm=height, u_height_mm=u_height),
        setup=remade,
        margins=known,
        rows=now,
    )


def _with_new(
    planner: Planner, playing: PlayingProfile, target: Target, new: frozenset[int]
) -> Cure | None:
    """With crowns as low as will do."""
    low, high = NEW_CROWN_MM

    def solved(steps: int) -> Solution:
        again = with_new_frets(planner, new, low + CROWN_STEP_MM * (steps - 1))
        limits = again.limits(playing, target)
        return Programme(again.rows, again.margins, limits).solve(again.margins, limits)

    found = least_steps(solved, round((high - low) / CROWN_STEP_MM) + 1)
    if found is None:
        return None
    crown = low + CROWN_STEP_MM * (found[0] - 1)
    return Cure("refret", found[1].metal_mm, frets=tuple(sorted(new)), amount=crown)
