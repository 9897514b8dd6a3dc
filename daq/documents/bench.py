"""The bench's work, and what gauges show after it, as documents."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.bench.expect import Expected, Reading
from analysis.bench.order import FileStep
from analysis.bench.setting import Prop, Section
from analysis.bench.sheet import Bench
from analysis.bench.straight import U_SET_MM
from analysis.plan.plan import Plan
from daq.documents.numbers import mm, rounded, u_mm, u_um, um
from daq.documents.plan import clearance_entry


def bench_document(bench: Bench, plan: Plan) -> dict[str, Any]:
    """Setting, sections of the beam, its share, what it leaves, the file's order.

    `left`, `order`: what the beam leaves at all, and what of it is worth the file. `share_least`:
    whatever rod and prop do of what they may. `gap_um`: what a straightedge over the fret and the
    two of `check_over_frets` shows, under the nearer of them, under the fret itself where
    negative. `aim_um` stands where it is not what is to come off.
    """
    setting = bench.setting
    return {
        "beam_mm": None if setting.beam_mm is None else mm(setting.beam_mm),
        "prop_tried": bench.prop_tried,
        "rod": _rod(bench),
        "prop": None if setting.prop is None else _prop(setting.prop),
        "sections": [_section(one) for one in setting.sections],
        "share": rounded(setting.share, 3),
        "share_least": rounded(setting.share_least, 3),
        "share_without_prop": None
        if setting.share_without is None
        else rounded(setting.share_without, 3),
        "left": _left(bench, plan),
        "order": [_step(n, one, plan) for n, one in enumerate(bench.steps, start=1)],
        "u_cut_um": u_um(bench.u_cut_um),
    }


def expect_document(expected: Expected) -> dict[str, Any]:
    """Readings before and after the strings go on, and where to listen first."""
    return {
        "unstrung": [_reading(one) for one in expected.unstrung],
        "strung": [_reading(one) for one in expected.strung],
        "listen": [{**clearance_entry(one), "bend": one.bend} for one in expected.listen],
    }


def _rod(bench: Bench) -> dict[str, Any]:
    setting = bench.setting
    turns = rounded(abs(setting.turns), 4)
    way = "tighten" if setting.turns > 0 else "loosen"
    return {
        "turns": turns,
        "direction": way if turns else "none",
        "relief_change_mm": mm(setting.relief_change_mm),
        "u_relief_change_mm": u_mm(U_SET_MM if turns else 0.0),
        "strings": [
            {
                "string": n,
                "relief_mm": mm(one.relief_mm + setting.relief_change_mm),
                "u_relief_mm": u_mm(one.u_relief_mm),
            }
            for n, one in enumerate(bench.unstrung_relief, start=1)
        ],
    }


def _prop(prop: Prop) -> dict[str, Any]:
    return {
        "under_fret": prop.fret,
        "lift_at_fret_1_mm": mm(prop.lift_mm),
        "u_lift_at_fret_1_mm": u_mm(prop.u_lift_mm),
        "lift_at_nut_mm": mm(prop.nut_mm),
    }


def _section(section: Section) -> dict[str, Any]:
    return {
        "from_fret": section.first,
        "to_fret": section.last,
        "u_line_um": u_um(section.u_um),
        "lines": [
            {
                "string": line.string,
                "stop_at_frets": list(line.stops),
                "take_um": [um(take) for take in line.take_um.tolist()],
            }
            for line in section.lines
        ],
    }


def _left(bench: Bench, plan: Plan) -> list[dict[str, Any]]:
    """Every place of the plan the beam leaves something at; null where no top was seen."""
    left = bench.setting.left_um
    places = np.argwhere((plan.remove_mm > 0) & ~(left < 0.05)).tolist()
    return [
        {
            "fret": f + 1,
            "string": s + 1,
            "left_um": um(left[f, s]),
            "u_left_um": u_um(1e3 * plan.u_remove_mm[f, s]),
            **({} if np.isfinite(left[f, s]) else {"status": "the top was not seen"}),
        }
        for f, s in places
    ]


def _step(number: int, step: FileStep, plan: Plan) -> dict[str, Any]:
    return {
        "step": number,
        "fret": step.fret,
        "check_over_frets": list(step.feet),
        "cuts": [_cut(step, s, plan) for s in np.flatnonzero(step.take_um > 0).tolist()],
    }


def _cut(step: FileStep, s: int, plan: Plan) -> dict[str, Any]:
    entry = {
        "string": s + 1,
        "take_um": um(step.take_um[s]),
        "u_take_um": u_um(1e3 * plan.u_remove_mm[step.fret - 1, s]),
        "remains_um": um(step.remains_um[s]),
        "height_after_mm": mm(step.height_after_mm[s]),
        "u_height_after_mm": u_mm(step.u_height_mm[s]),
        "gap_um": um(step.gap_um[s]),
        "u_gap_um": u_um(step.u_gap_um[s]),
    }
    if abs(step.aim_um[s] - step.take_um[s]) >= 0.05:
        entry["aim_um"] = um(step.aim_um[s])
    return entry


def _reading(reading: Reading) -> dict[str, Any]:
    rows = zip(reading.value_mm, reading.u_mm, reading.at_fret, strict=True)
    return {
        "what": reading.what,
        "strings": [
            {"string": s, "value_mm": mm(value), "u_value_mm": u_mm(u), "at_fret": fret}
            for s, (value, u, fret) in enumerate(rows, start=1)
        ],
    }
