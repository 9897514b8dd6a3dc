"""Numbers as cells, darker the more."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from daq.figures.boardmap import Cell
from daq.figures.palette import LEVELS


def scaled_cells(values: FloatArray, digits: int, unit: str) -> tuple[list[list[Cell]], list[Cell]]:
    """Cells [strings][frets] and their legend from [frets, strings]: darker on paper is more.

    NaN is an empty, dashed cell. The steps of the scale are equal.
    """
    known = values[np.isfinite(values)]
    low = float(known.min()) if known.size else 0.0
    high = float(known.max()) if known.size else 0.0
    step = (high - low) / LEVELS
    columns = [[_scaled(value, low, step, digits) for value in row] for row in values.T.tolist()]
    if step <= 0:
        return columns, [Cell(f"{low:.{digits}f} {unit}", "q0")]
    edges = [low + n * step for n in range(LEVELS + 1)]
    more = digits if step >= 10.0**-digits else digits + 1
    spans = [f"{edges[n]:.{more}f} to {edges[n + 1]:.{more}f}" for n in range(LEVELS)]
    spans[-1] += f" {unit}"
    return columns, [Cell(span, f"q{n}") for n, span in enumerate(spans)]


def _scaled(value: float, low: float, step: float, digits: int) -> Cell:
    # NaN is not itself
    if value != value:
        return Cell("–", "none")
    level = min(int((value - low) / step), LEVELS - 1) if step > 0 else 0
    return Cell(f"{value:.{digits}f}", f"q{level}")
