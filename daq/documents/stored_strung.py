"""What a stored verification says of the strung neck at the end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from analysis.after.strung import StringRelief, StrungCheck
from analysis.instrument import Instrument
from analysis.plan.clearances import Clearance
from daq.documents.stored import damaged, entries, number, whole
from daq.documents.stored_standing import stored_margins, verdict_of

_WHAT = "stored check"
_RELIEF = ("as predicted", "more", "less")


@dataclass(frozen=True, slots=True)
class StrungThen:
    """margins: the worst of every string and position by the measured tops. heights: where the
    string heights come from, "planned" or "measured"."""

    check: StrungCheck
    margins: tuple[Clearance, ...]
    heights: str


def stored_strung(document: object, instrument: Instrument) -> StrungThen | None:
    """None where the check is from before the strung neck was scanned, or from before that was
    looked at. Raises FileError for a damaged one."""
    strung = document.get("strung") if isinstance(document, Mapping) else None
    if strung is None:
        return None
    if not isinstance(strung, Mapping):
        raise damaged(_WHAT, "strung", "no group of keys", "a group of keys or null")
    return StrungThen(
        _check(strung, instrument),
        stored_margins(strung, "strung.", instrument),
        str(strung.get("heights")),
    )


def _check(strung: Mapping[str, Any], instrument: Instrument) -> StrungCheck:
    rod = strung.get("rod")
    if not isinstance(rod, Mapping):
        raise damaged(_WHAT, "strung.rod", "no group of keys", "a group of keys")
    planned, more, u_more = (
        number(rod, key, "strung.rod", _WHAT) for key in ("planned_mm", "more_mm", "u_more_mm")
    )
    sizes = (instrument.frets, len(instrument.strings))
    off, u_off = np.full(sizes, np.nan), np.full(sizes, np.nan)
    odd = np.zeros(sizes, dtype=bool)
    for n, top in enumerate(entries(strung, "tops", _WHAT)):
        where = f"strung.tops[{n}]"
        at = (
            whole(top, "fret", where, _WHAT, sizes[0]) - 1,
            whole(top, "string", where, _WHAT, sizes[1]) - 1,
        )
        off[at] = number(top, "off_um", where, _WHAT)
        u_off[at] = number(top, "u_off_um", where, _WHAT)
        odd[at] = top.get("status") == "odd"
    return StrungCheck(_reliefs(strung, sizes[1]), planned, more, u_more, off, u_off, odd)


def _reliefs(strung: Mapping[str, Any], strings: int) -> tuple[StringRelief, ...]:
    keys = ("predicted_mm", "u_predicted_mm", "measured_mm", "u_measured_mm", "off_mm", "u_off_mm")
    out = []
    for n, one in enumerate(entries(strung, "relief", _WHAT)):
        where = f"strung.relief[{n}]"
        predicted, u_predicted, measured, u_measured, off, u_off = (
            number(one, key, where, _WHAT) for key in keys
        )
        out.append(
            StringRelief(
                whole(one, "string", where, _WHAT, strings),
                predicted,
                u_predicted,
                measured,
                u_measured,
                off,
                u_off,
                verdict_of(one, where, _RELIEF),
            )
        )
    return tuple(out)
