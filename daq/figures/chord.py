"""Fret tops off the straight lines that a repairer lays along each string."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.shape import Shape


def off_chord_um(shape: Shape, joint: int) -> FloatArray:
    """[frets, strings], µm, up: tops over the chord from fret 1 to the body-joint fret.

    The chord is carried on past the joint. NaN along a string whose chord is not known.
    """
    x, z = shape.x_mm, shape.top_mm
    share = (x - x[0]) / (x[joint - 1] - x[0])
    return np.asarray(1e3 * (z - z[0] - share * (z[joint - 1] - z[0])))


def off_neighbours_um(shape: Shape) -> FloatArray:
    """[frets, strings], µm, up: each top over the line through the frets before and behind it.

    What a fret rocker, a short straightedge over three frets, feels. The first and the last
    fret have one neighbour only: NaN.
    """
    x, z = shape.x_mm, shape.top_mm
    out = np.full_like(z, np.nan)
    share = (x[1:-1] - x[:-2]) / (x[2:] - x[:-2])
    out[1:-1] = 1e3 * (z[1:-1] - z[:-2] - share * (z[2:] - z[:-2]))
    return out
