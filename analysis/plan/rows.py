"""The rows of the linear programme: what each change does to margins, to action, to the file."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from analysis.instrument import FloatArray
from analysis.plan.changes import Columns, least_effect
from analysis.plan.limits import most_step_mm
from analysis.plan.margins import Margins
from analysis.plan.setup import Setup
from analysis.rod.rod import Rod


@dataclass(frozen=True, slots=True)
class Rows:
    """Sparse [rows, columns], what one more of each column adds at the least.

    margins: to each clearance; now_mm: clearances as they are. action: to how far each string
    lies lower over fret 12; action_now_mm: [strings]. steps: differences between neighbouring
    cuts along a fret; most_step_mm: what a file can follow.
    """

    columns: Columns
    margins: sparse.csr_array
    now_mm: FloatArray
    action: sparse.csr_array
    action_now_mm: FloatArray
    steps: sparse.csr_array
    most_step_mm: FloatArray


def rows_of(setup: Setup, margins: Margins, rod: Rod) -> Rows:
    """Every row of the programme for a neck; margins' own needs and uncertainties stay aside."""
    columns = Columns(setup.frets, setup.strings)
    action, action_now = _action(setup, rod)
    steps, most_step = _steps(setup, columns)
    return Rows(
        columns,
        least_effect(margins.cuts, margins.nodes, margins.nut, margins.saddle, rod),
        margins.clearance_mm(setup.node_z_mm, setup.nut_mm, setup.saddle_mm),
        action,
        action_now,
        steps,
        most_step,
    )


def _action(setup: Setup, rod: Rod) -> tuple[sparse.csr_array, FloatArray]:
    """Open string over fret 12: how much lower each change brings it, and how high it is now."""
    strings = np.arange(setup.strings)
    share = setup.share_at_twelve
    columns = 11 * (2 * setup.strings - 1) + 2 * strings
    shape = (setup.strings, setup.node_z_mm.size)
    nodes = sparse.csr_array((-np.ones(setup.strings), (strings, columns)), shape=shape)
    nut = sparse.csr_array(sparse.diags_array(1.0 - share))
    saddle = sparse.csr_array(sparse.diags_array(share))
    now = nodes @ setup.node_z_mm.ravel() + nut @ setup.nut_mm + saddle @ setup.saddle_mm
    at = (strings, 11 * setup.strings + strings)
    cuts = sparse.csr_array(
        (-np.ones(setup.strings), at), shape=(setup.strings, setup.frets * setup.strings)
    )
    return least_effect(cuts, -nodes, -nut, -saddle, rod), np.asarray(now)


def _steps(setup: Setup, columns: Columns) -> tuple[sparse.csr_array, FloatArray]:
    """Along one fret the cut may not change faster than a file can follow."""
    one = np.diff(np.eye(setup.strings), axis=0)
    step = sparse.kron(sparse.eye_array(setup.frets), one)
    rest = sparse.csr_array((step.shape[0], columns.size - columns.cuts))
    return sparse.csr_array(sparse.hstack([step, rest])), most_step_mm(setup).ravel()
