"""How a neck stood on the rig in one scan against another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from analysis.movement.changes import shared_lanes
from analysis.movement.movement import Field
from analysis.neck.neck import Neck

#: A neck left alone on the rig stays nearer than this to where it was, mm (own choice).
LEAST_STAND_MM = 0.02
#: As far as a neck bends off where it was: less than this up or down may be bending, mm (own
#: estimate).
BENDS_MM = 1.0
#: And what is not surer than this is not said.
SURE = 3.0


@dataclass(frozen=True, slots=True)
class Stood:
    """size_mm: shifted along the rail; raised; tilted, the rise from fret 1 to the body joint;
    turned, how much more string 1's edge rose than the other at the body joint."""

    how: Literal["shifted", "raised", "tilted", "turned"]
    size_mm: float
    u_mm: float


_LEAST_MM = {
    "shifted": LEAST_STAND_MM, "turned": LEAST_STAND_MM, "raised": BENDS_MM, "tilted": BENDS_MM,
}  # fmt: skip


def how_it_stood(
    after: Neck, before: Neck, field: Field, width_mm: tuple[float, float], joint: float
) -> tuple[Stood, ...]:
    """`after` less `before`, as far as it is more than a neck left alone would move.

    Of the turn only what the body joint shows, where the strings do not twist the neck.
    width_mm: the board's at the nut and at the last fret; joint: of the centre line, mm.
    """
    return tuple(
        one
        for one in (_shifted(after, before), *_lay(after, field, width_mm, joint))
        if abs(one.size_mm) > max(_LEAST_MM[one.how], SURE * one.u_mm)
    )


def _shifted(after: Neck, before: Neck) -> Stood:
    """By where each crown stood on the rail; they do not move on the neck."""
    i, j = shared_lanes(after, before)
    along = after.registration.carriage_mm(after.apex_x_mm[:, i], after.string[i])
    along = along - before.registration.carriage_mm(before.apex_x_mm[:, j], before.string[j])
    known = along[np.isfinite(along)]
    if known.size == 0:
        return Stood("shifted", 0.0, 0.0)
    middle = float(np.median(known))
    spread = 1.4826 * float(np.median(np.abs(known - middle)))
    # of a median, over the frets: lanes share what clamping and the screw did
    u = 1.2533 * spread / np.sqrt(after.x_mm.shape[0])
    return Stood("shifted", middle, float(u))


def _lay(after: Neck, field: Field, width_mm: tuple[float, float], joint: float) -> Iterator[Stood]:
    first, last = float(np.mean(after.x_mm[0])), float(np.mean(after.x_mm[-1]))
    width = width_mm[0] + joint / last * (width_mm[1] - width_mm[0])
    x = np.array([first, joint, joint, joint])
    rows = field.design(x, np.array([0.0, 0.0, 0.5 * width, -0.5 * width]))
    for how, row in (
        ("raised", 0.5 * (rows[0] + rows[1])),
        ("tilted", rows[1] - rows[0]),
        ("turned", rows[2] - rows[3]),
    ):
        size, u = float(row @ field.coefficients), float(np.sqrt(row @ field.covariance @ row))
        yield Stood(how, size, u)  # type: ignore[arg-type]
