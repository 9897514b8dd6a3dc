"""The plan tried on the true neck, string by string, without the programme's own rows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.strings.strings import string_loads
from daq.documents.stored_plan import planned_um
from daq.reading.job import BothStates


def worst_true_margin_mm(
    both: BothStates, plan: Mapping[str, Any], truth: Mapping[str, Any], tops_mm: FloatArray
) -> float:
    """The least of clearance minus need over all strings, fretted positions and frets beyond.

    tops_mm: the true strung tops, [frets, strings]; they, and the true string heights, are
    changed just as the plan says.
    """
    instrument = both.instrument
    top = tops_mm - 1e-3 * planned_um(plan, instrument)
    relief = float(plan["rod"]["relief_change_mm"])
    worst = np.inf
    for s in range(top.shape[1]):
        x = both.strung.x_mm[:, s]
        nut, saddle = _ends(instrument, s, x, tops_mm[:, s], truth)
        nut += plan["nut"][s]["change_mm"]
        saddle += plan["saddles"][s]["change_mm"]
        bent = top[:, s] + _rod(instrument, x, relief)
        worst = min(worst, _least(instrument, plan["playing"], s, x, bent, nut, saddle))
    return float(worst)


def _ends(
    instrument: Instrument, s: int, x: FloatArray, top: FloatArray, truth: Mapping[str, Any]
) -> tuple[float, float]:
    first, twelfth = top[0] + truth["nut_gap_mm"][s], top[11] + truth["action_mm"][s]
    slope = (twelfth - first) / (x[11] - x[0])
    end = float(instrument.saddle_x_mm(s + 1.0))
    start = float(instrument.fret_x_mm(0.0, s + 1.0))
    return first + slope * (start - x[0]), twelfth + slope * (end - x[11])


def _rod(instrument: Instrument, x: FloatArray, relief: float) -> FloatArray:
    """An even curve from nut to joint; past the joint nothing moves."""
    joint = x[instrument.body_joint_fret - 1]
    curve = 8.0 * relief / (joint - x[0]) ** 2
    return np.where(x < joint, -0.5 * curve * x * (joint - x), 0.0)


def _least(
    instrument: Instrument,
    playing: Mapping[str, Any],
    s: int,
    x: FloatArray,
    top: FloatArray,
    nut: float,
    saddle: float,
) -> float:
    tension = string_loads(instrument)[s].tension_n
    end = float(instrument.saddle_x_mm(s + 1.0))
    start = float(instrument.fret_x_mm(0.0, s + 1.0))
    least = np.inf
    for fretted in range(top.size):
        at, height = (start, nut) if fretted == 0 else (x[fretted - 1], top[fretted - 1])
        length = end - at
        pluck = playing["pluck_from_saddle_mm"]
        pluck = pluck if pluck < length else length / 2
        swing = playing["pluck_force_n"] * pluck * (length - pluck) / (tension * length)
        along = x[fretted:] - at
        need = swing * np.minimum(along / pluck, (length - along) / (length - pluck))
        clear = height + (saddle - height) * along / length - top[fretted:]
        least = min(least, float(np.min(clear - need)))
    return least
