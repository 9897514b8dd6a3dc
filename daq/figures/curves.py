"""What the panels of the strings draw: each state's tops over the chord, with what is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from analysis.form.along import Along
from analysis.instrument import FloatArray
from analysis.neck.relief import Relief
from analysis.neck.shape import Shape
from daq.figures.chord import off_chord_um


@dataclass(frozen=True, slots=True)
class Curve:
    """One state along one string: height over the chord with bars, µm; NaN is a gap."""

    state: str
    x_mm: FloatArray
    y_um: FloatArray
    bar_um: FloatArray
    relief: Relief
    along: Along | None


def curves_of(
    shapes: Sequence[Shape], along: Mapping[str, Sequence[Along]], joint: int
) -> list[list[Curve]]:
    """For each string its curve in each state."""
    off = [off_chord_um(shape, joint) for shape in shapes]
    return [
        [
            Curve(
                shape.state,
                shape.x_mm[:, s],
                y[:, s],
                2e3 * shape.u_top_mm[:, s],
                shape.relief[s],
                along[shape.state][s] if shape.state in along else None,
            )
            for shape, y in zip(shapes, off, strict=True)
        ]
        for s in range(shapes[0].x_mm.shape[1])
    ]


def reach_of(curves: Sequence[Sequence[Curve]]) -> tuple[float, float]:
    """Lowest and highest of all strings, so that they can be compared by eye, with some air."""
    ends = [c.y_um + side * np.nan_to_num(c.bar_um) for row in curves for c in row
            for side in (-1.0, 1.0)]  # fmt: skip
    known = np.concatenate(ends)
    known = known[np.isfinite(known)]
    low = float(min(known.min(), 0.0)) if known.size else 0.0
    high = float(max(known.max(), 0.0)) if known.size else 0.0
    span = max(high - low, 10.0)
    return low - 0.14 * span, high + 0.14 * span
