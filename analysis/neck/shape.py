"""The neck under its strings, in one state: tops in the datum frame, relief, twist, radius."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.neck.datum import datum_plane
from analysis.neck.neck import Neck
from analysis.neck.rail import RAIL_TWIST, RailAlong
from analysis.neck.relief import Relief, reliefs_by_terms
from analysis.neck.terms import Terms
from analysis.neck.tops import Tops, tops_along


@dataclass(frozen=True, slots=True)
class Shape:
    """One state of the neck. Arrays are [frets, strings], mm, in that state's datum frame.

    between_mm, u_between_mm: [frets, strings - 1], tops midway between the strings.
    status: "ok" where a lane lay under the string, "inferred" where the value comes from lanes
    beside it, else what is wrong. twist_mrad: turn of the board between the nut and
    the body-joint fret. board_radius_mm: at the nut and at the last fret. terms: what u_top_mm
    is made of, [frets, strings] each. u_datum_mm: of the datum plane's height at a typical top,
    not in u_top_mm: shapes do not depend on it. u_twist_mrad: of it u_twist_scan_mrad is the
    scan's own, the rest is what the rail itself may turn. rail: how the rail's map errs along
    the neck, None without a map. remark: what somebody should know of the datum.
    u_board_radius_mm: of the two, the tip's unknown radius across in it.
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
    u_twist_scan_mrad: float = np.nan
    rail: RailAlong | None = None
    remark: str = ""
    u_board_radius_mm: tuple[float, float] = (np.nan, np.nan)


def unstrung_shape(neck: Neck, instrument: Instrument) -> Shape:
    """Tops as the lanes under the strings show them; a lane that is not there is inferred."""
    return shape_of("unstrung", lying_of(neck, instrument), neck, instrument)


def strung_shape(strung: Neck, instrument: Instrument) -> Shape:
    """From a strung scan alone: tops from the lanes beside each string.

    What wear may hide under the strings stands in the uncertainty.
    """
    return shape_of("strung", lying_of(strung, instrument), strung, instrument)


@dataclass(frozen=True, slots=True)
class Lying:
    """Tops under the strings and midway between them."""

    under: Tops
    between: Tops

    @property
    def parts(self) -> tuple[Tops, Tops]:
        return self.under, self.between


def lying_of(neck: Neck, instrument: Instrument) -> Lying:
    """As the lanes of one scan show them; a lane that is not there is inferred."""
    strings = instrument.string_numbers
    under, between = strings, strings[:-1] + 0.5
    return Lying(tops_along(neck, instrument, under), tops_along(neck, instrument, between))


def shape_of(state: str, lying: Lying, neck: Neck, instrument: Instrument) -> Shape:
    """In the datum frame of `neck`, the scan of that state."""
    plane = datum_plane(neck, instrument)
    tops, between = lying.parts
    z = tops.z_mm - plane.at(tops.x_mm, tops.y_mm)
    joint = instrument.body_joint_fret
    twist, u_twist = neck.arc.twist_mrad(0.0, joint_mm(instrument))
    last_x = float(np.max(tops.x_mm[-1]))
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
        reliefs_by_terms(tops.x_mm, z, tops.terms, joint, neck.rail),
        twist,
        float(np.hypot(u_twist, 1e3 * RAIL_TWIST)),
        (neck.arc.nut_radius_mm, float(neck.arc.radius_mm(np.array(last_x)))),
        tops.terms,
        float(np.median(plane.u_at(tops.x_mm, tops.y_mm))),
        u_twist,
        neck.rail,
        plane.remark,
        (neck.arc.u_radius_mm(0.0), neck.arc.u_radius_mm(last_x)),
    )
