"""After the cut: planned against achieved, fret by fret."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.after.aim import aim_um
from analysis.after.law import Law
from analysis.after.standing import Standing
from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.movement.changes import BENDS
from analysis.movement.untouched import untouched_movement
from analysis.neck.neck import Neck

#: A cut this near to its plan is within it: what a careful hand lands in (own choice). Whether
#: what it fell short by matters is for the margins to say (`analysis.after.standing`).
TOLERANCE_UM = 3.0
GUARD = 2.0
#: Less than this is nothing left, µm: the finest a cut is written to.
LEAST_UM = 0.05


@dataclass(frozen=True, slots=True)
class Cut:
    """One planned cut and what came off. verdict: under, within, over or undecided."""

    fret: int
    string: int
    planned_um: float
    achieved_um: float
    u_achieved_um: float
    verdict: str


@dataclass(frozen=True, slots=True)
class Left:
    """Metal that still has to come off somewhere. aim_um: what to mean to take, 0 where no aim
    is sure."""

    fret: int
    string: int
    left_um: float
    u_left_um: float
    aim_um: float


def achieved_um(
    before: Neck, after: Neck, planned_um: FloatArray, instrument: Instrument
) -> tuple[FloatArray, FloatArray]:
    """What came off under each string and its standard uncertainty, [frets, strings], µm.

    Both scans are laid over one another on what the cut did not touch: the board between the
    frets, and the tops of frets with nothing planned. How the neck lies and bends between the
    two scans is a smooth field through those; what is left of a top's fall is metal.
    """
    field = untouched_movement(before, after, planned_um, joint_mm(instrument))
    # how clamping bent the neck is in the field
    u_before, u_after = (neck.terms.without(BENDS).u_mm for neck in (before, after))
    strings = instrument.string_numbers
    out, u_out = np.full((2, *planned_um.shape), np.nan)
    for k, string in enumerate(strings):
        i, j = np.flatnonzero(before.string == string), np.flatnonzero(after.string == string)
        if i.size == 0 or j.size == 0:
            continue
        a, b = i[0], j[0]
        moved, u_moved = field.at(before.x_mm[:, a], before.y_mm[:, a])
        out[:, k] = before.top_mm[:, a] + moved - after.top_mm[:, b]
        u_out[:, k] = np.sqrt(u_before[:, a] ** 2 + u_after[:, b] ** 2 + u_moved**2)
    return 1e3 * out, 1e3 * u_out


def judge_cuts(
    planned_um: FloatArray, achieved: FloatArray, u_achieved: FloatArray
) -> tuple[Cut, ...]:
    """A verdict for every planned cut, guard band of twice the uncertainty (ISO 14253-1)."""
    return tuple(
        Cut(
            int(f) + 1,
            int(s) + 1,
            float(planned_um[f, s]),
            float(achieved[f, s]),
            float(u_achieved[f, s]),
            _verdict(planned_um[f, s], achieved[f, s], u_achieved[f, s]),
        )
        for f, s in np.argwhere(planned_um > 0)
    )


def _verdict(planned: float, achieved: float, u: float) -> str:
    if not np.isfinite(achieved):
        return "undecided"
    off, band = achieved - planned, TOLERANCE_UM
    if off + GUARD * u < -band:
        return "under"
    if off - GUARD * u > band:
        return "over"
    return "within" if abs(off) + GUARD * u <= band else "undecided"


def what_is_left(standing: Standing, law: Law | None) -> tuple[Left, ...]:
    """Every place where metal still has to come off, and what to mean to take there."""
    left, u = 1e3 * standing.left_mm, 1e3 * standing.u_left_mm
    aim = aim_um(np.nan_to_num(left), law)
    return tuple(
        Left(int(f) + 1, int(s) + 1, float(left[f, s]), float(u[f, s]), float(aim[f, s]))
        for f, s in np.argwhere(np.nan_to_num(left) > LEAST_UM)
    )


def worth_a_pass(standing: Standing, left: Sequence[Left]) -> bool:
    """Margins may not clear, and somewhere more is left than a careful hand lands within."""
    most = max((one.left_um for one in left), default=0.0)
    return not standing.done and most > TOLERANCE_UM
