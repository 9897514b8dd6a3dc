"""What is really so. For tests and the demo's last page; nothing else may ask."""

from __future__ import annotations

from dataclasses import asdict

import numpy as np

from sim.faults import Faults
from sim.instrument import FloatArray
from sim.neck import Neck
from sim.rail import Rail
from sim.rigspec import RigSpec
from sim.scenario import Scenario
from sim.sensor import sensor_curve_mm
from sim.straightedge import LENGTH_MM, EdgeShape
from sim.strings import Strings

Json = dict[str, object]


def relief_mm(tops_mm: FloatArray, x_mm: FloatArray, joint_fret: int) -> FloatArray:
    """float[strings]: depth of the tops under the chord fret 1 to joint, at the deepest."""
    x, tops = x_mm[:joint_fret], tops_mm[:joint_fret]
    share = ((x - x[0]) / (x[-1] - x[0]))[:, np.newaxis]
    return np.asarray(np.max(tops[0] + share * (tops[-1] - tops[0]) - tops, axis=0), dtype=float)


def neck_truth(scenario: Scenario, strung: Neck, unstrung: Neck, removed_mm: FloatArray) -> Json:
    """Tops, relief, twist, wear and cuts, in the neck's own frame."""
    states = {"strung": strung, "unstrung": unstrung}
    tops = {state: neck.tops_under_strings_mm() for state, neck in states.items()}
    joint = scenario.instrument.body_joint_fret
    x_mm = scenario.frets.x_mm
    return {
        "tops_mm": {state: each.tolist() for state, each in tops.items()},
        "relief_mm": {s: relief_mm(each, x_mm, joint).tolist() for s, each in tops.items()},
        "twist_mrad": {state: twist_mrad(scenario, neck) for state, neck in states.items()},
        "movement_mm": movement_mm(tops["strung"] - tops["unstrung"], x_mm, joint).tolist(),
        "height_mm": _over_board(unstrung).tolist(),
        "x_mm": x_mm.tolist(),
        "string_y_mm": strung.string_y_mm.tolist(),
        **_across(strung),
        "dent_um": (1e3 * scenario.frets.dent_mm).tolist(),
        "flat_mm": _flats(unstrung).tolist(),
        "crown_radius_mm": scenario.frets.crown_radius_mm.tolist(),
        "board_radius_mm": list(scenario.instrument.board_radius_mm),
        "removed_um": (1e3 * removed_mm).tolist(),
    }


def rig_truth(faults: Faults, spec: RigSpec, rail: Rail) -> Json:
    """The rig's own faults by their names; rail_um over rail_x_mm is what the rail adds to a
    reading at y = 0, and y_mm times roll_urad more beside it. A sensor over
    sensor_z_mm reads sensor_reads_mm, the screw's error over rail_x_mm is screw_um."""
    x_mm = np.arange(rail.travel_mm[0], rail.travel_mm[1] + 0.5, 1.0)
    z_mm = np.linspace(*spec.sensor_range_mm, 281)
    return {
        **asdict(faults),
        "rail_x_mm": x_mm.tolist(),
        "rail_um": (1e3 * rail.error_mm(x_mm)).tolist(),
        "roll_urad": (1e6 * rail.roll(x_mm)).tolist(),
        "screw_um": (1e3 * (rail.true_mm(x_mm) - x_mm)).tolist(),
        "screw_periodic_phase_rad": rail.periodic_phase_rad,
        "sensor_z_mm": z_mm.tolist(),
        "sensor_reads_mm": sensor_curve_mm(spec, faults, z_mm).tolist(),
        "tip_radius_mm": spec.tip_radius_mm + faults.tip_radius_off_mm,
        "spot_mm": spec.spot_mm,
    }


def edge_truth(shape: EdgeShape) -> Json:
    """The straightedge's own shape along it, as it lies when it is not turned."""
    along_mm = np.arange(0.0, LENGTH_MM + 0.5, 1.0)
    return {
        "straightedge_along_mm": along_mm.tolist(),
        "straightedge_shape_um": (1e3 * shape.shape_mm(along_mm)).tolist(),
    }


def string_truth(strings: Strings, strung: Neck) -> Json:
    """Heights of the strings over frets 1 and 12 as they stand, their weight and pull."""
    over = strings.underside_mm(strung, strung.fret_x_mm) - strung.tops_under_strings_mm()
    return {
        "nut_gap_mm": over[0].tolist(),
        "action_mm": over[11].tolist(),
        "string_hz": strings.at_pitch.frequency_hz.tolist(),
        "string_kg_per_m": strings.at_pitch.mass_kg_per_m.tolist(),
        "string_tension_n": strings.at_pitch.tension_n.tolist(),
        "string_sag_um": (1e3 * strings.at_pitch.sag_mm).tolist(),
    }


def twist_mrad(scenario: Scenario, neck: Neck) -> float:
    """Slope across at the body joint less that at the nut."""
    across = neck.shape.across(np.array([0.0, scenario.instrument.joint_x_mm]))
    return float(1e3 * (across[1] - across[0]))


def movement_mm(change_mm: FloatArray, x_mm: FloatArray, joint_fret: int) -> FloatArray:
    """float[frets, strings]: a change of tops, zero at fret 1 and the joint on each string."""
    first, joint = change_mm[0], change_mm[joint_fret - 1]
    share = ((x_mm - x_mm[0]) / (x_mm[joint_fret - 1] - x_mm[0]))[:, np.newaxis]
    return np.asarray(change_mm - first - share * (joint - first), dtype=float)


def _over_board(neck: Neck) -> FloatArray:
    tops = neck.tops_under_strings_mm()
    fret_x = np.repeat(neck.fret_x_mm, tops.shape[1])
    board = neck.board_mm(fret_x, neck.string_y_mm.ravel()).reshape(tops.shape)
    return np.asarray(tops - board, dtype=float)


def _across(strung: Neck) -> Json:
    """Strung tops from string to string: across_mm at across_y_mm, float[frets, places]."""
    frets, strings = strung.string_y_mm.shape
    places = np.linspace(0.0, 1.0, 8 * (strings - 1) + 1)
    first, last = strung.string_y_mm[:, :1], strung.string_y_mm[:, -1:]
    y_mm = first + places * (last - first)
    fret = np.repeat(np.arange(frets), places.size)
    tops = strung.top_mm(fret, y_mm.ravel()).reshape(y_mm.shape)
    return {"across_y_mm": y_mm.tolist(), "across_mm": tops.tolist()}


def _flats(neck: Neck) -> FloatArray:
    frets, strings = neck.string_y_mm.shape
    fret = np.repeat(np.arange(frets), strings)
    width = neck.crowns.flat_width_mm(fret, neck.string_y_mm.ravel())
    return width.reshape(frets, strings)
