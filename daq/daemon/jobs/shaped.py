"""The asked-for shape: given whole, given up, or moved at one of its five places."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from analysis.instrument import Instrument
from daq.daemon.jobs.controls import controls_of
from daq.errors import InputError
from daq.files.faults import describe

Shape = dict[str, Any]
UM_PER_MM = 1000.0


def moved_shape(
    shape: Shape | None, path: str, value: object, instrument: Instrument
) -> Shape | None:
    """`shape` of a target file; a place that is moved while there is none begins a straight one
    from fret 1 to the body joint. Raises InputError in words."""
    if path == "shape":
        return _given(value)
    control = controls_of(instrument).get(path)
    if control is None:
        raise InputError(
            f"shape: found {describe(path)}; allowed shape.from, shape.to, shape.from_off_um, "
            "shape.to_off_um or shape.hollow_um"
        )
    number = control.number(value)
    new = straight(instrument) if shape is None else deepcopy(shape)
    match path.removeprefix("shape."):
        case "from":
            new["frets"][0] = int(number)
        case "to":
            new["frets"][1] = int(number)
        case "from_off_um":
            new["off_mm"][0] = number / UM_PER_MM
        case "to_off_um":
            new["off_mm"][1] = number / UM_PER_MM
        case _:
            new["hollow_mm"] = number / UM_PER_MM
    return new


def _given(value: object) -> Shape | None:
    """Of the right form; what its numbers may be is told by the check of the whole."""
    if value is None:
        return None
    pairs = [value.get(key) for key in ("frets", "off_mm")] if isinstance(value, dict) else []
    if not pairs or any(not isinstance(pair, list) or len(pair) != 2 for pair in pairs):
        raise InputError(
            f"shape: found {describe(value)}; allowed nothing, or frets: [from, to] and "
            "off_mm: [from, to], with hollow_mm"
        )
    return {"hollow_mm": 0.0, **deepcopy(dict(value))}  # type: ignore[call-overload]


def straight(instrument: Instrument) -> Shape:
    """From top to top as measured, fret 1 to the body joint."""
    return {"frets": [1, instrument.body_joint_fret], "off_mm": [0.0, 0.0], "hollow_mm": 0.0}
