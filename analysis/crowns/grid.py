"""Flat widths: the few that are fitted, and the fine grid they are weighed on."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray

#: Flats fitted, mm; what lies between is interpolated. All tables are smooth in the width.
NODES_MM = np.array(
    [0.0, 0.04, 0.08, 0.12, 0.16, 0.2, 0.25, 0.3, 0.36, 0.42, 0.5, 0.58, 0.66, 0.74, 0.82, 0.9]
)
#: Steps of the grid, mm: even up to KNEE_MM, then even in the flat's depth (which goes with its
#: square), 0.4 um on a common crown.
STEP_MM, KNEE_MM = 0.008, 0.24


def _grid() -> FloatArray:
    small = np.arange(0.0, KNEE_MM, STEP_MM)
    squares = np.arange(KNEE_MM**2, NODES_MM[-1] ** 2, 2.0 * KNEE_MM * STEP_MM)
    return np.concatenate([small, np.sqrt(squares)])


FLATS_MM = _grid()


def _hermite() -> tuple[FloatArray, FloatArray]:
    """float[flats, nodes] each: cubic through the nodes' values and slopes (Hermite)."""
    right = np.clip(np.searchsorted(NODES_MM, FLATS_MM, side="right"), 1, NODES_MM.size - 1)
    width = NODES_MM[right] - NODES_MM[right - 1]
    t = (FLATS_MM - NODES_MM[right - 1]) / width
    row = np.arange(FLATS_MM.size)
    values, slopes = np.zeros((2, FLATS_MM.size, NODES_MM.size))
    values[row, right - 1] = (1.0 + 2.0 * t) * (1.0 - t) ** 2
    values[row, right] = t**2 * (3.0 - 2.0 * t)
    slopes[row, right - 1] = width * t * (1.0 - t) ** 2
    slopes[row, right] = width * t**2 * (t - 1.0)
    return values, slopes


#: On the grid, a table of the nodes is VALUES @ table + SLOPES @ its slopes with the flat.
VALUES, SLOPES = _hermite()
