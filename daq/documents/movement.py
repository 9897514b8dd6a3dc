"""Strung against unstrung, string by string: the movement field as seen from a string's chord."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.movement.movement import Field
from analysis.neck.shape import Shape


@dataclass(frozen=True, slots=True)
class ReliefChange:
    """Relief of one string in both states, and what the strings add to it (strung less unstrung).

    u_change_mm is the movement's own uncertainty: what is uncertain about the tops of both
    states alike is not in it.
    """

    string: int
    strung_mm: float
    unstrung_mm: float
    change_mm: float
    u_change_mm: float


def chord_share(x_mm: FloatArray, joint: int) -> FloatArray:
    """[frets, strings]: 0 at fret 1, 1 at the body-joint fret, linear in x."""
    return np.asarray((x_mm - x_mm[0]) / (x_mm[joint - 1] - x_mm[0]))


def chord_movement(
    field: Field, x_mm: FloatArray, y_mm: FloatArray, joint: int
) -> tuple[FloatArray, FloatArray]:
    """Movement off the line through its values at fret 1 and the body-joint fret, and its u.

    x_mm, y_mm: [frets, strings]; both answers in mm, shaped alike. The uncertainty is that of
    the contrast, by the field's covariance: nothing at the two frets.
    """
    rows = field.design(x_mm, y_mm).reshape(*x_mm.shape, -1)
    share = chord_share(x_mm, joint)[..., None]
    contrast = rows - (1.0 - share) * rows[0] - share * rows[joint - 1]
    contrast[[0, joint - 1]] = 0.0
    variance = np.einsum("fsi,ij,fsj->fs", contrast, field.covariance, contrast)
    return contrast @ field.coefficients, np.sqrt(np.clip(variance, 0.0, None))


def relief_changes(
    strung: Shape, unstrung: Shape, field: Field, joint: int
) -> tuple[ReliefChange, ...]:
    """One for each string.

    The strung tops are the unstrung ones moved by the field, so at one fret the depths differ
    by the field's contrast alone. Where the deepest fret is another one in each state, the
    step between the two, along the unstrung tops, is added with its uncertainty.
    """
    _, u_moved = chord_movement(field, unstrung.x_mm, unstrung.y_mm, joint)
    out = []
    for s, (up, down) in enumerate(zip(strung.relief, unstrung.relief, strict=True)):
        u = np.nan
        if up.at_fret > 0 and down.at_fret > 0:
            step = _u_step_mm(unstrung, joint, s, (up.at_fret, down.at_fret))
            u = np.hypot(u_moved[up.at_fret - 1, s], step)
        change = up.relief_mm - down.relief_mm
        out.append(ReliefChange(s + 1, up.relief_mm, down.relief_mm, change, float(u)))
    return tuple(out)


def _u_step_mm(shape: Shape, joint: int, s: int, frets: tuple[int, int]) -> float:
    """Standard uncertainty of the difference of depth between two frets of one string."""
    a, b = frets[0] - 1, frets[1] - 1
    if a == b:
        return 0.0
    u = shape.u_top_mm[:, s]
    share = chord_share(shape.x_mm, joint)[:, s]
    ends = (share[a] - share[b]) ** 2 * (u[0] ** 2 + u[joint - 1] ** 2)
    return float(np.sqrt(u[a] ** 2 + u[b] ** 2 + ends))


def odd_frets(field: Field) -> tuple[int, ...]:
    """Frets with a top that did not move with the neck: `Field.odd` is [frets, lanes]."""
    odd = np.atleast_2d(field.odd)
    return tuple(int(fret) + 1 for fret in np.flatnonzero(odd.any(axis=1)))
