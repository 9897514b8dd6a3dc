"""Where no lane can go: the strung tops under the strings, from both states' scans."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analysis.instrument import Instrument, joint_mm
from analysis.movement.changes import BENDS, top_change
from analysis.movement.movement import Field, fit_movement
from analysis.neck.neck import Neck
from analysis.neck.shape import Lying, Shape, lying_of, shape_of
from analysis.neck.tops import Tops


def inferred_strung_shape(
    strung: Neck, unstrung: Neck, instrument: Instrument
) -> tuple[Shape, Field]:
    """Tops under the strings of a strung neck, where no lane can go, and how they were moved.

    The unstrung tops under the strings, moved by the field fitted to the difference of the
    lanes both scans share. Raises ValueError where the scans share too little.
    """
    field = movement(strung, unstrung, joint_mm(instrument))
    return strung_shape_by(field, strung, unstrung, instrument), field


def strung_shape_by(
    field: Field, strung: Neck, unstrung: Neck, instrument: Instrument, lay: Field | None = None
) -> Shape:
    """The tops under the strings of an unstrung neck as this field moves them.

    lay: how `unstrung` lies against the neck that the field moved, where no file touched it; for
    one that was filed in the meantime.
    """
    parts = (_moved(tops, field, lay) for tops in lying_of(unstrung, instrument).parts)
    moved = Lying(*(_bent_as(strung, tops) for tops in parts))
    return shape_of("strung", moved, strung, instrument)


def _moved(tops: Tops, field: Field, lay: Field | None) -> Tops:
    """The unstrung tops as they stand strung. `lay`: how the scan lay against the field's."""
    dz, u_dz = field.at(tops.x_mm, tops.y_mm)
    terms = tops.terms.also(movement=u_dz)
    if lay is not None:
        shift, u_shift = lay.at(tops.x_mm, tops.y_mm)
        dz, terms = dz - shift, terms.also(laid=u_shift)
    status = np.where(np.isfinite(tops.z_mm), "inferred", tops.status)
    return replace(tops, z_mm=tops.z_mm + dz, terms=terms, status=status)


def _bent_as(strung: Neck, tops: Tops) -> Tops:
    """With the uncertainty of how clamping bent the strung neck, a fret's mean over the lanes.

    That of the unstrung one falls out: the field moved its tops to where the strung ones are.
    """
    bends = strung.terms.parts.get(BENDS)
    terms = tops.terms.without(BENDS)
    if bends is not None:
        bend = np.sqrt(np.nanmean(bends**2, axis=1))
        terms = terms.also(**{BENDS: np.broadcast_to(bend[:, None], tops.z_mm.shape)})
    return replace(tops, terms=terms)


def movement(after: Neck, before: Neck, joint: float) -> Field:
    """Movement field from the lanes two scans share, `after` minus `before`; joint in mm.

    Lanes are shared by their string number. Raises ValueError where too little is shared.
    """
    change = top_change(after, before)
    return fit_movement(change.x_mm, change.y_mm, change.dz_mm, change.u_mm, joint)
