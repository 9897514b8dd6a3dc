"""The plan tried on the true neck, string by string, without the programme's own rows.

Statics and closed forms: strings straight to their saddles, swings those of ideal strings at their
true tension, plucked either way (d'Alembert).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.strings.bends import bend_mm, bend_sides, pushed_tension_n
from analysis.strings.strings import StringLoad, string_loads
from daq.documents.stored_plan import planned_um
from daq.reading.job import BothStates

#: Shares of its widest push at which a bent string is looked at.
PARTS = (0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True, slots=True)
class TrueMargins:
    """Clearance less need, mm, at its least over all strings, positions and frets beyond.

    bends: strings pushed aside; None where nobody bends.
    """

    straight: float
    bends: float | None


def worst_true_margins(
    both: BothStates, plan: Mapping[str, Any], truth: Mapping[str, Any]
) -> TrueMargins:
    """The true strung neck before any cut, and its true string heights, changed as planned."""
    strings = list(_carried_out(both, plan, truth))
    playing = plan["playing"]
    straight = min(_straight(one, playing) for one in strings)
    if not playing["bend_semitones"] > 0:
        return TrueMargins(straight, None)
    bends = min(
        _bent(one, playing, part, side)
        for one in strings
        for part in PARTS
        for side in bend_sides(one.number, len(strings))
    )
    return TrueMargins(straight, bends)


@dataclass(frozen=True, slots=True)
class _String:
    """One string over the neck once the plan is carried out.

    x: [frets]. y, z: [frets, places], the fret tops from one edge string to the other, y rising.
    home: [frets], the string's own y. load: with its true tension. start, end: of the string along
    the neck; end_y: where the saddle stands across; nut, saddle: heights there.
    """

    number: int
    load: StringLoad
    x: FloatArray
    y: FloatArray
    z: FloatArray
    home: FloatArray
    start: float
    nut: float
    end: float
    end_y: float
    saddle: float

    def top(self, fret: int, y: float) -> float:
        return float(np.interp(y, self.y[fret], self.z[fret]))


def _carried_out(
    both: BothStates, plan: Mapping[str, Any], truth: Mapping[str, Any]
) -> Iterator[_String]:
    instrument = both.instrument
    home = np.array(truth["string_y_mm"])
    y = np.array(truth["across_y_mm"])[:, ::-1]
    removed = np.array(truth["removed_um"])
    found = np.array(truth["across_mm"])[:, ::-1] + 1e-3 * _between(home, removed, y)
    cut = found - 1e-3 * _between(home, planned_um(plan, instrument), y)
    relief = float(plan["rod"]["relief_change_mm"])
    for s, load in enumerate(string_loads(instrument)):
        x = both.strung.x_mm[:, s]
        own = np.array([np.interp(home[n, s], y[n], found[n]) for n in range(x.size)])
        nut, saddle = _ends(instrument, s, x, own, truth)
        end = float(instrument.saddle_x_mm(s + 1.0))
        yield _String(
            s + 1,
            replace(load, tension_n=truth["string_tension_n"][s]),
            x,
            y,
            cut + _rod(instrument, x, relief)[:, None],
            home[:, s],
            float(instrument.fret_x_mm(0.0, s + 1.0)),
            nut + plan["nut"][s]["change_mm"],
            end,
            float(instrument.string_y_mm(s + 1.0, end)),
            saddle + plan["saddles"][s]["change_mm"],
        )


def _between(home: FloatArray, depths: FloatArray, y: FloatArray) -> FloatArray:
    """Depths under the strings, straight between them; y rising, strings from the highest down."""
    pairs = zip(y, home[:, ::-1], depths[:, ::-1], strict=True)
    return np.array([np.interp(at, own, depth) for at, own, depth in pairs])


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


def _straight(one: _String, playing: Mapping[str, Any]) -> float:
    """The open string, and fretted everywhere."""
    pull = one.load.tension_n
    least = _least(one, playing, 0, one.start, one.nut, one.home, pull)
    for fret in range(1, one.x.size):
        height = one.top(fret - 1, float(one.home[fret - 1]))
        at = float(one.x[fret - 1])
        least = min(least, _least(one, playing, fret, at, height, one.home[fret:], pull))
    return least


def _bent(one: _String, playing: Mapping[str, Any], part: float, side: float) -> float:
    """Pushed aside by a part of the widest bend, wherever it is bent."""
    length, along = one.end - one.start, one.x - one.start
    push = part * bend_mm(one.load, length, along, playing["bend_semitones"])
    pull = pushed_tension_n(one.load, length, along, push)
    first, last = playing.get("bend_frets") or (1, one.x.size)
    least = np.inf
    for fret in range(first, min(last, one.x.size - 1) + 1):
        k = fret - 1
        y, at = float(one.home[k] + side * push[k]), float(one.x[k])
        across = y + (one.x[fret:] - at) / (one.end - at) * (one.end_y - y)
        least = min(least, _least(one, playing, fret, at, one.top(k, y), across, float(pull[k])))
    return float(least)


def _least(
    one: _String,
    playing: Mapping[str, Any],
    fret: int,
    at: float,
    height: float,
    y: FloatArray,
    tension: float,
) -> float:
    """Clearance less need over all frets beyond `fret`; y: where the string crosses each."""
    length, along = one.end - at, one.x[fret:] - at
    tops = np.array([one.top(fret + k, float(v)) for k, v in enumerate(y)])
    clear = height + (one.saddle - height) * along / length - tops
    return float(np.min(clear - _need(playing, tension, length, along)))


def _need(
    playing: Mapping[str, Any], tension: float, length: float, along: FloatArray
) -> FloatArray:
    """Deepest swing of an ideal string pulled away from the frets or pushed towards them."""
    pluck = playing["pluck_from_saddle_mm"]
    pluck = pluck if pluck < length else length / 2
    corner = playing["pluck_force_n"] * pluck * (length - pluck) / (tension * length)
    beyond = length - along
    away = np.minimum(along / pluck, beyond / (length - pluck))
    towards = np.minimum(along / (length - pluck), beyond / pluck)
    return np.asarray(corner * np.maximum(away, towards))
