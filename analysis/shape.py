"""The neck under its strings, in one state: tops in the datum frame, relief, twist, radius."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from analysis.arc import sagitta_mm
from analysis.datum import datum_plane
from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.movement import Field, fit_movement
from analysis.neck import Neck
from analysis.relief import Relief, reliefs

#: What a dent under a string may hide from the lanes beside it, mm (common practice, no source).
UNSEEN_WEAR_MM = 0.02
NOT_SEEN = "not seen: no crown, or too few readings"
#: A lane further than this from the string does not show what lies under it.
FURTHEST_LANE_MM = 1.5
#: A top whose passes both ways disagree by more deviations than this is doubtful.
WAYS_SIGMAS = 6.0


@dataclass(frozen=True, slots=True)
class Shape:
    """One state of the neck. Arrays are [frets, strings], mm, in that state's datum frame.

    between_mm, u_between_mm: [frets, strings - 1], tops midway between the strings.
    status: "ok" where a lane lay under the string, "inferred" where the value comes from lanes
    beside it, else what is wrong. twist_mrad: turn of the board between the nut and
    the body-joint fret. board_radius_mm: at the nut and at the last fret.
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


def _moved(tops: _Tops, field: Field, lay: Field | None) -> _Tops:
    """The unstrung tops as they stand strung. `lay`: how the scan lay against the field's."""
    dz, u_dz = field.at(tops.x_mm, tops.y_mm)
    if lay is not None:
        shift, u_shift = lay.at(tops.x_mm, tops.y_mm)
        dz, u_dz = dz - shift, np.hypot(u_dz, u_shift)
    status = np.where(np.isfinite(tops.z_mm), "inferred", tops.status)
    return replace(tops, z_mm=tops.z_mm + dz, u_mm=np.hypot(tops.u_mm, u_dz), status=status)


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
class _Tops:
    """Tops under the strings in the rig's frame, [frets, strings]."""

    x_mm: FloatArray
    y_mm: FloatArray
    z_mm: FloatArray
    u_mm: FloatArray
    height_mm: FloatArray
    u_height_mm: FloatArray
    flat_mm: FloatArray
    status: NDArray[np.str_]


@dataclass(frozen=True, slots=True)
class _Lying:
    """Tops under the strings and midway between them."""

    under: _Tops
    between: _Tops

    @property
    def parts(self) -> tuple[_Tops, _Tops]:
        return self.under, self.between


def _lying(neck: Neck, instrument: Instrument) -> _Lying:
    strings = instrument.string_numbers
    return _Lying(_along(neck, instrument, strings), _along(neck, instrument, strings[:-1] + 0.5))


def _along(neck: Neck, instrument: Instrument, strings: FloatArray) -> _Tops:
    """Tops along lines of the strings' fan; 2.5 is midway between strings 2 and 3."""
    frets = np.arange(1, instrument.frets + 1, dtype=float)
    columns = []
    for string in strings:
        x = instrument.fret_x_mm(frets, string)
        y = instrument.string_y_mm(string, x)
        lane = np.flatnonzero(neck.string == string)
        if lane.size == 0 or np.max(np.abs(neck.y_mm[:, lane[0]] - y)) > FURTHEST_LANE_MM:
            columns.append(_beside(neck, x, y))
        else:
            columns.append(_on_lane(neck, int(lane[0]), x, y))
    return _Tops(*(np.stack([getattr(c, f.name) for c in columns], axis=1) for f in fields(_Tops)))


def _on_lane(neck: Neck, k: int, x: FloatArray, y: FloatArray) -> _Tops:
    """A lane lies there: its own tops, moved along the arc from the lane to the string.

    The nut is never quite where the file says, so that the lanes' fan is a little off the
    strings'; a twentieth of a millimetre across is worth some micrometres at the outer strings.
    Where the passes both ways disagree, u grows with it.
    """
    across = y - neck.y_mm[:, k]
    z = neck.top_mm[:, k] + across * neck.arc.slope(x, 0.5 * (y + neck.y_mm[:, k]))
    u = np.hypot(neck.u_top_mm[:, k], neck.u_rail_mm[:, k])
    limit = WAYS_SIGMAS * np.sqrt(8.0) * 1e3 * np.maximum(neck.u_top_mm[:, k], 5e-4)
    doubtful = np.abs(neck.ways_um[:, k]) > limit
    status = np.where(
        np.isfinite(neck.top_mm[:, k]), "ok", "not seen: no crown, or too few readings"
    )
    return _Tops(
        x,
        y,
        z,
        np.where(doubtful, np.hypot(u, 5e-4 * np.abs(neck.ways_um[:, k])), u),
        neck.height_mm[:, k],
        neck.u_height_mm[:, k],
        neck.flat_mm[:, k],
        np.where(doubtful, "doubtful: the two ways disagree", status),
    )


def _beside(neck: Neck, x: FloatArray, y: FloatArray) -> _Tops:
    """From the lanes on both sides: straight between them once the board's arc is taken off."""
    drop = sagitta_mm(neck.arc.radius_mm(neck.x_mm), neck.y_mm)
    own_drop = sagitta_mm(neck.arc.radius_mm(x), y)
    z, u, height = (np.full(x.size, np.nan) for _ in range(3))
    for fret in range(x.size):
        seen = np.isfinite(neck.top_mm[fret])
        if np.count_nonzero(seen) < 2:
            continue
        near = np.argsort(np.where(seen, np.abs(neck.y_mm[fret] - y[fret]), np.inf))[:2]
        weight = _two_point(neck.y_mm[fret, near], float(y[fret]))
        z[fret] = weight @ (neck.top_mm + drop)[fret, near] - own_drop[fret]
        u[fret] = np.sqrt(np.sum((weight * neck.u_top_mm[fret, near]) ** 2))
        height[fret] = weight @ neck.height_mm[fret, near]
    u = np.sqrt(u**2 + UNSEEN_WEAR_MM**2 + np.mean(neck.u_rail_mm, axis=1) ** 2)
    status = np.where(np.isfinite(z), "inferred", "not seen: no lane beside the string")
    return _Tops(x, y, z, u, height, np.hypot(u, 0.004), np.full(x.size, np.nan), status)


def _two_point(y: FloatArray, wanted: float) -> FloatArray:
    """Weights of the straight line through two points at a third."""
    share = (wanted - y[0]) / (y[1] - y[0])
    return np.array([1.0 - share, share])


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
    )
