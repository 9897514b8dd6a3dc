"""Where no lane can go: the strung tops under the strings, from both states' scans."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analysis.instrument import Instrument, joint_mm
from analysis.neck.neck import Neck
from analysis.neck.shape import Lying, Shape, lying_of, shape_of
from analysis.neck.tops import Tops
from analysis.states.movement import Field, fit_movement


def inferred_strung_shape(
    strung: Neck, unstrung: Neck, instrument: Instrument, since: tuple[Neck, Field] | None = None
) -> tuple[Shape, Field]:
    """Tops under the strings of a strung neck, where no lane can go.

    The unstrung tops under the strings, moved by the field fitted to the difference of the
    lanes both scans share. `since`: a later unstrung neck, filed in the meantime, and how it
    lies against `unstrung` where no file touched it; its tops are then the ones moved. Raises
    ValueError where the scans share too little.
    """
    field = movement(strung, unstrung, joint_mm(instrument))
    lying = lying_of(since[0] if since else unstrung, instrument)
    moved = Lying(*(_moved(t, field, since[1] if since else None) for t in lying.parts))
    return shape_of("strung", moved, strung, instrument), field


def _moved(tops: Tops, field: Field, lay: Field | None) -> Tops:
    """The unstrung tops as they stand strung. `lay`: how the scan lay against the field's."""
    dz, u_dz = field.at(tops.x_mm, tops.y_mm)
    terms = tops.terms.also(movement=u_dz)
    if lay is not None:
        shift, u_shift = lay.at(tops.x_mm, tops.y_mm)
        dz, terms = dz - shift, terms.also(laid=u_shift)
    status = np.where(np.isfinite(tops.z_mm), "inferred", tops.status)
    return replace(tops, z_mm=tops.z_mm + dz, terms=terms, status=status)


def movement(after: Neck, before: Neck, joint: float) -> Field:
    """Movement field from the lanes two scans share, `after` minus `before`; joint in mm.

    Lanes are shared by their string number. The rail's error is nearly the same in both scans
    at one x and is left out of the weights.
    """
    shared, i, j = np.intersect1d(after.string, before.string, return_indices=True)
    if shared.size == 0:
        raise ValueError("the two scans have no lane in common")
    u = np.hypot(after.u_top_mm[:, i], before.u_top_mm[:, j])
    return fit_movement(
        after.x_mm[:, i], after.y_mm[:, i], after.top_mm[:, i] - before.top_mm[:, j], u, joint
    )
