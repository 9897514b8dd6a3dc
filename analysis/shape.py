"""The neck under its strings, in one state: tops in the datum frame, relief, twist, radius."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.datum import datum_plane
from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.movement import Field, fit_movement
from analysis.neck import Neck
from analysis.relief import Relief, reliefs
from analysis.terms import Terms
from analysis.tops import Tops, tops_along


@dataclass(frozen=True, slots=True)
class Shape:
    """One state of the neck. Arrays are [frets, strings], mm, in that state's datum frame.

    between_mm, u_between_mm: [frets, strings - 1], tops midway between the strings.
    status: "ok" where a lane lay under the string, "inferred" where the value comes from lanes
    beside it, else what is wrong. twist_mrad: turn of the board between the nut and
    the body-joint fret. board_radius_mm: at the nut and at the last fret. terms: what u_top_mm
    is made of, [frets, strings] each. u_datum_mm: of the datum plane's height at a typical top,
    not in u_top_mm: shapes do not depend on it.
    """

    state: str
    x_mm: FloatArray
    y_mm: FloatArray
    top_mm: FloatArray
    u_top_mm: FloatArray
    height_mm: FloatArray
    u_height_mm: FloatArray
    flat_mm: FloatArray
    between_mm: FloatArray
    u_between_mm: FloatArray
    status: NDArray[np.str_]
    relief: tuple[Relief, ...]
    twist_mrad: float
    u_twist_mrad: float
    board_radius_mm: tuple[float, float]
    terms: Terms
    u_datum_mm: float


def unstrung_shape(neck: Neck, instrument: Instrument) -> Shape:
    """Tops as the lanes under the strings show them; a lane that is not there is inferred."""
    return _shape("unstrung", _lying(neck, instrument), neck, instrument)


def strung_shape(strung: Neck, instrument: Instrument) -> Shape:
    """From a strung scan alone: tops from the lanes beside each string.

    What wear may hide under the strings stands in the uncertainty.
    """
    return _shape("strung", _lying(strung, instrument), strung, instrument)


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
    lying = _lying(since[0] if since else unstrung, instrument)
    moved = _Lying(*(_moved(t, field, since[1] if since else None) for t in lying.parts))
    return _shape("strung", moved, strung, instrument), field


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


@dataclass(frozen=True, slots=True)
class _Lying:
    """Tops under the strings and midway between them."""

    under: Tops
    between: Tops

    @property
    def parts(self) -> tuple[Tops, Tops]:
        return self.under, self.between


def _lying(neck: Neck, instrument: Instrument) -> _Lying:
    strings = instrument.string_numbers
    under, between = strings, strings[:-1] + 0.5
    return _Lying(tops_along(neck, instrument, under), tops_along(neck, instrument, between))


def _shape(state: str, lying: _Lying, neck: Neck, instrument: Instrument) -> Shape:
    """In the datum frame of `neck`, the scan of that state."""
    plane = datum_plane(neck, instrument)
    tops, between = lying.parts
    z = tops.z_mm - plane.at(tops.x_mm, tops.y_mm)
    joint = instrument.body_joint_fret
    twist, u_twist = neck.arc.twist_mrad(0.0, joint_mm(instrument))
    return Shape(
        state,
        tops.x_mm,
        tops.y_mm,
        z,
        tops.u_mm,
        tops.height_mm,
        tops.u_height_mm,
        tops.flat_mm,
        between.z_mm - plane.at(between.x_mm, between.y_mm),
        between.u_mm,
        tops.status,
        reliefs(tops.x_mm, z, tops.u_mm, joint),
        twist,
        u_twist,
        (neck.arc.nut_radius_mm, float(neck.arc.radius_mm(np.max(tops.x_mm[-1])))),
        tops.terms,
        float(np.median(plane.u_at(tops.x_mm, tops.y_mm))),
    )
