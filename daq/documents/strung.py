"""The strung neck at the end against what was predicted of it, as a document."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.after.standing import Standing
from analysis.after.strung import StringRelief, StrungCheck
from daq.documents.numbers import mm, rounded, u_mm, u_um, um
from daq.documents.verify import standing_document

#: A rod that was to change relief by less than this tells nothing of its gain, mm.
LEAST_RELIEF_MM = 0.02
TOO_LITTLE = "the rod was to change too little to tell its gain"


def strung_document(
    scan: str, check: StrungCheck, standing: Standing, heights: str
) -> dict[str, Any]:
    """`relief`: predicted and measured, a string each. `rod`: what it was to do and did, by all
    tops together. `tops`: measured less predicted as shapes, that taken off. `standing`: margins
    by the measured tops; `heights` says whether string heights are new ones of the instrument's
    file ("measured") or those the plan wanted set ("planned"). `finished`: nothing is left to do.
    """
    return {
        "scan": scan,
        "finished": standing.done,
        "heights": heights,
        "relief": [_relief(one) for one in check.relief],
        "rod": _rod(check),
        "tops_rms_um": um(check.rms_um),
        "tops_expected_rms_um": um(check.expected_rms_um),
        "tops": [_top(check, f, s) for f, s in np.ndindex(check.off_um.shape)],
        "standing": standing_document(standing),
    }


def _relief(one: StringRelief) -> dict[str, Any]:
    return {
        "string": one.string,
        "predicted_mm": mm(one.predicted_mm),
        "u_predicted_mm": u_mm(one.u_predicted_mm),
        "measured_mm": mm(one.measured_mm),
        "u_measured_mm": u_mm(one.u_measured_mm),
        "off_mm": mm(one.off_mm),
        "u_off_mm": u_mm(one.u_off_mm),
        "verdict": one.verdict,
    }


def _rod(check: StrungCheck) -> dict[str, Any]:
    planned = check.planned_relief_mm
    entry: dict[str, Any] = {
        "planned_mm": mm(planned),
        "more_mm": mm(check.more_mm),
        "u_more_mm": u_mm(check.u_more_mm),
        "gain": None,
        "u_gain": None,
    }
    if abs(planned) < LEAST_RELIEF_MM:
        return {**entry, "status": TOO_LITTLE}
    gain, u_gain = 1.0 + check.more_mm / planned, check.u_more_mm / abs(planned)
    return {**entry, "gain": rounded(gain, 3), "u_gain": rounded(u_gain, 3)}


def _top(check: StrungCheck, fret: int, string: int) -> dict[str, Any]:
    off = float(check.off_um[fret, string])
    entry: dict[str, Any] = {
        "fret": fret + 1,
        "string": string + 1,
        "off_um": um(off),
        "u_off_um": u_um(check.u_off_um[fret, string]),
    }
    if not np.isfinite(off):
        return {**entry, "status": "not known in both scans"}
    return {**entry, "status": "odd" if check.odd[fret, string] else "ok"}
