"""Where no lane can go: the strung tops under the strings, from both states' scans."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.neck.neck import Neck
from analysis.neck.shape import Lying, Shape, lying_of, shape_of
from analysis.neck.tops import Tops
from analysis.states.movement import Field, fit_movement

#: Terms of a top's uncertainty that are the same for it in every scan with one rig.
ALIKE = ("tip", "spot", "sensor")
#: And what bends a neck gently: a movement's field takes it up.
BENDS = "clamping"


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
    parts = (_moved(t, field, since[1] if since else None) for t in lying.parts)
    moved = Lying(*(_bent_as(strung, tops) for tops in parts))
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

    Lanes are shared by their string number.
    """
    i, j = shared_lanes(after, before)
    return fit_movement(
        after.x_mm[:, i],
        after.y_mm[:, i],
        after.top_mm[:, i] - before.top_mm[:, j],
        u_between_mm(after, before),
        joint,
    )


def shared_lanes(after: Neck, before: Neck) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Columns of the lanes that both scans have, in each. Raises ValueError where none is."""
    shared, i, j = np.intersect1d(after.string, before.string, return_indices=True)
    if shared.size == 0:
        raise ValueError("the two scans have no lane in common")
    return i, j


def u_between_mm(after: Neck, before: Neck) -> FloatArray:
    """[frets, shared lanes]: standard uncertainty of a difference of tops.

    What both scans get wrong alike falls out of it: the tip on the board's slope, the spot, the
    sensor's curve, and the rail's map at one x. How clamping bends a neck is no scatter of it.
    """
    i, j = shared_lanes(after, before)
    return np.hypot(_own_mm(after)[:, i], _own_mm(before)[:, j])


def _own_mm(neck: Neck) -> FloatArray:
    return neck.terms.without(*ALIKE, BENDS).u_mm
