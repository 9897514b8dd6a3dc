"""On the bench: the rod setting at which a straight beam does most of the plan by itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import linprog

from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.plan.lines import line_bounds, line_rows
from analysis.rod.rod import RELIEF_PER_TURN_MM, relief_cases

#: What closeness counts where nothing is cut: only enough to make the answer one.
FAR_WEIGHT = 1e-3


@dataclass(frozen=True, slots=True)
class BeamSetting:
    """relief_change_mm, turns: from the rod's setting in the unstrung scan.

    left_um: [frets, strings], what still stands above the plan once the beam is down to its
    line: for the file. Never negative: the line goes nowhere below the plan.
    """

    relief_change_mm: float
    turns: float
    left_um: FloatArray


def beam_setting(
    unstrung: Shape, remove_mm: FloatArray, instrument: Instrument, most_relief_mm: float
) -> BeamSetting:
    """One rod setting for all and a straight line a string, as low as the plan lets them.

    The beam may take everything above its line and nothing below, so the line must lie on or
    above every top as planned; where the plan cuts, the closer it lies the more the beam does
    by itself. A linear programme over the lines' ends and the rod; tops not seen take no part.
    """
    wanted = unstrung.top_mm - remove_mm
    rod, _ = relief_cases(instrument, unstrung.x_mm)
    fret, string = np.nonzero(np.isfinite(wanted))
    rows = line_rows(unstrung.x_mm, rod.tops, fret, string)
    weight = np.where(remove_mm[fret, string] > 0, 1.0, FAR_WEIGHT)
    constraints: Any = -rows  # the solver takes sparse matrices, its type hints do not
    answer = linprog(
        np.asarray(rows.T @ weight),
        A_ub=constraints,
        b_ub=-np.asarray(wanted[fret, string], dtype=float),
        bounds=line_bounds(wanted.shape[1], most_relief_mm),
        method="highs",
    )
    best = np.asarray(answer.x)
    line = np.full(wanted.shape, np.nan)
    line[fret, string] = rows @ best
    standing = np.clip(np.minimum(unstrung.top_mm, line) - wanted, 0.0, None)
    return BeamSetting(float(best[-1]), -float(best[-1]) / RELIEF_PER_TURN_MM, 1e3 * standing)
