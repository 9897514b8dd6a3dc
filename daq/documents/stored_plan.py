"""What a stored plan says is to come off, and what is to be turned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.plan.changes import Changes
from daq.documents.stored import damaged, entries, number, whole

_WHAT = "stored plan"
#: No fret is this high, µm.
_MOST_UM = 5000.0


def planned_um(document: object, instrument: Instrument) -> FloatArray:
    """Planned removal, [frets, strings], µm, zero where nothing was planned.

    Raises FileError for a document that is no plan, or a plan of another instrument.
    """
    return _by_place(document, instrument, "remove_um")


def aimed_um(document: object, instrument: Instrument) -> FloatArray:
    """What the hand was to mean to take: `aim_um` where a law gave it, else what was planned.

    Shape and errors are those of `planned_um`.
    """
    return _by_place(document, instrument, "aim_um")


def _by_place(document: object, instrument: Instrument, key: str) -> FloatArray:
    depths = np.zeros((instrument.frets, len(instrument.strings)))
    for n, cut in enumerate(entries(document, "cuts", _WHAT)):
        where = f"cuts[{n}]"
        fret = whole(cut, "fret", where, _WHAT, instrument.frets)
        string = whole(cut, "string", where, _WHAT, len(instrument.strings))
        named = key if key in cut else "remove_um"
        depth = number(cut, named, where, _WHAT)
        if not 0 <= depth < _MOST_UM:
            found = "null" if np.isnan(depth) else f"{depth:g}"
            raise damaged(_WHAT, f"{where}.{named}", found, f"0 to {_MOST_UM:g} µm")
        depths[fret - 1, string - 1] = depth
    return depths


def stored_screws(document: object, instrument: Instrument) -> Changes:
    """What it wants of rod, nut and saddles; no metal. Raises FileError."""
    strings = len(instrument.strings)
    rod = document.get("rod") if isinstance(document, Mapping) else None
    if not isinstance(rod, Mapping):
        raise damaged(_WHAT, "rod", "no group of keys", "a group of keys")
    return Changes(
        np.zeros((instrument.frets, strings)),
        _by_string(document, "saddles", "change_mm", strings),
        _by_string(document, "nut", "change_mm", strings),
        number(rod, "relief_change_mm", "rod", _WHAT),
    )


def stored_heights(document: object, instrument: Instrument) -> Instrument:
    """The instrument with the string heights that the plan was made for, where it says.

    Raises FileError.
    """
    heights = document.get("heights") if isinstance(document, Mapping) else None
    if heights is None:
        # a plan of before they were kept
        return instrument
    if not isinstance(heights, Mapping):
        raise damaged(_WHAT, "heights", "no group of keys", "a group of keys")
    action, gap = (_heights(heights, key, instrument) for key in ("action_mm", "nut_gap_mm"))
    return replace(instrument, action_mm=action, nut_gap_mm=gap)


def _heights(heights: Mapping[str, object], key: str, instrument: Instrument) -> tuple[float, ...]:
    listed, strings = heights.get(key), len(instrument.strings)
    numbers = [one for one in listed if type(one) in (int, float)] if type(listed) is list else []
    if len(numbers) != strings or numbers != listed:
        raise damaged(_WHAT, f"heights.{key}", repr(listed), f"{strings} numbers")
    return tuple(float(one) for one in numbers)


def stored_action_mm(document: object, instrument: Instrument) -> FloatArray:
    """String heights over fret 12 that it wants set, [strings], mm. Raises FileError."""
    return _by_string(document, "action", "after_mm", len(instrument.strings))


def _by_string(document: object, key: str, what: str, strings: int) -> FloatArray:
    out = np.full(strings, np.nan)
    for n, entry in enumerate(entries(document, key, _WHAT)):
        where = f"{key}[{n}]"
        out[whole(entry, "string", where, _WHAT, strings) - 1] = number(entry, what, where, _WHAT)
    if np.isnan(out).any():
        raise damaged(_WHAT, key, "strings without a number", "one for each string")
    return out
