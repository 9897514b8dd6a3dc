"""Along the strings as a document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from analysis.form.along import Along, Hump
from daq.documents.numbers import mm, u_mm

TOO_FEW = "not known: too few tops were seen up to the body-joint fret"
NO_TONGUE = "fall-away not known: no top was seen past the body-joint fret"


def along_document(along: Sequence[Along]) -> list[dict[str, Any]]:
    """One entry a string; what could not be had is None, and `status` says why."""
    return [_string(one) for one in along]


def _string(one: Along) -> dict[str, Any]:
    status = "ok"
    if np.isnan(one.s_mm):
        status = TOO_FEW
    elif np.isnan(one.fall_away_mm):
        status = NO_TONGUE
    return {
        "string": one.string,
        "s_mm": mm(one.s_mm),
        "u_s_mm": u_mm(one.u_s_mm),
        "fall_away_mm": mm(one.fall_away_mm),
        "u_fall_away_mm": u_mm(one.u_fall_away_mm),
        "scatter_mm": mm(one.scatter_mm),
        "humps": [_hump(hump) for hump in one.humps],
        "status": status,
    }


def _hump(hump: Hump) -> dict[str, Any]:
    return {
        "fret": hump.fret,
        "first": hump.first,
        "last": hump.last,
        "height_mm": mm(hump.height_mm),
        "u_height_mm": u_mm(hump.u_mm),
    }
