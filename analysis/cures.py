"""Where no plan will do: which frets stand in the way, and what would cure it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.limits import Limits
from analysis.margins import Margins
from analysis.playing import PlayingProfile
from analysis.programme import Solution
from analysis.shape import Shape


@dataclass(frozen=True, slots=True)
class Refret:
    """A fret to replace, and why, in words."""

    fret: int
    why: str


def refrets(
    shape: Shape, rows: Margins, solution: Solution, limits: Limits, playing: PlayingProfile
) -> tuple[Refret, ...]:
    """Frets worn below what the player needs, and frets too low to play from.

    A margin that stays short though the fret it touches may be cut no more, or though all
    beyond would have to come down, is cured by a new fret at the fretted position.
    """
    found: dict[int, str] = {}
    low = shape.height_mm + 2.0 * shape.u_height_mm < playing.least_fret_mm
    for fret in np.flatnonzero(low.any(axis=1)).tolist():
        lowest = int(np.nanargmin(shape.height_mm[fret]))
        found[fret + 1] = (
            f"{shape.height_mm[fret, lowest]:.2f} mm high under string {lowest + 1}, "
            f"the player needs {playing.least_fret_mm:.2f} mm"
        )
    for fret, why in _too_low(rows, solution, limits):
        found.setdefault(fret, why)
    return tuple(Refret(fret, found[fret]) for fret in sorted(found))


def _too_low(rows: Margins, solution: Solution, limits: Limits) -> list[tuple[int, str]]:
    """The fretted positions of margins left short, with the worst of each."""
    out = []
    short = solution.short_mm
    for fret in np.unique(rows.fretted[short > 1e-5]).tolist():
        if fret == 0:
            continue
        mine = np.flatnonzero((rows.fretted == fret) & (short > 1e-5))
        worst = mine[np.argmax(short[mine])]
        at, string = int(rows.at[worst]), int(rows.string[worst])
        room = limits.most_cut_mm[at - 1, string - 1] - solution.remove_mm[at - 1, string - 1]
        if room < 1e-4:
            out.append(
                (
                    int(fret),
                    f"string {string} fretted here stays {1e3 * short[worst]:.0f} µm short over "
                    f"fret {at}, which has no metal left to give",
                )
            )
    return out
