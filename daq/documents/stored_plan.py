"""What a stored plan says is to come off."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from analysis.instrument import FloatArray, Instrument
from daq.errors import FileError


def planned_um(document: Mapping[str, Any], instrument: Instrument) -> FloatArray:
    """Planned removal, [frets, strings], µm, zero where nothing was planned.

    Raises FileError for a document that is no plan, or a plan of another instrument.
    """
    planned = np.zeros((instrument.frets, len(instrument.strings)))
    cuts = document.get("cuts")
    if not isinstance(cuts, list):
        raise _damaged("cuts", "no list", "the list of cuts")
    for number, cut in enumerate(cuts):
        where = f"cuts[{number}]"
        if not isinstance(cut, Mapping):
            raise _damaged(where, "no group of keys", "fret, string and remove_um")
        fret = _whole(cut, "fret", where, instrument.frets)
        string = _whole(cut, "string", where, len(instrument.strings))
        planned[fret - 1, string - 1] = _removal(cut, where)
    return planned


def _whole(cut: Mapping[str, Any], key: str, where: str, last: int) -> int:
    value = cut.get(key)
    if type(value) is not int or not 1 <= value <= last:
        raise _damaged(f"{where}.{key}", repr(value), f"1 to {last}")
    return value


def _removal(cut: Mapping[str, Any], where: str) -> float:
    value = cut.get("remove_um")
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < 5000:
        raise _damaged(f"{where}.remove_um", repr(value), "0 to 5000 µm")
    return float(value)


def _damaged(where: str, found: str, allowed: str) -> FileError:
    return FileError(
        f"stored plan: {where}: found {found}; allowed {allowed}; "
        "it is damaged or belongs to another instrument: make the plan again"
    )
