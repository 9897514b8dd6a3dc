"""Across the neck as a document."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.form.across import Across
from analysis.neck.shape import Shape
from daq.documents.numbers import rounded

FLAT = "flat: the tops lie in a line within twice their uncertainty"
UNSEEN = "not known: fewer than three lanes saw this fret"
NO_BOARD = {
    "flat": "flat: no arc stands out of the board's readings",
    "not known": "not known: fewer than three lanes saw the board",
}


def across_document(across: Across, shape: Shape) -> dict[str, Any]:
    """Radius of every fret's tops, the board's form and radii, and what twist rests on."""
    rail2 = shape.u_twist_mrad**2 - shape.u_twist_scan_mrad**2
    return {
        "form": across.form,
        "board": [
            _board(at, radius, u, across.form)
            for at, radius, u in zip(
                ("nut", "last fret"), across.board_radius_mm, across.u_board_radius_mm, strict=True
            )
        ],
        "frets": [_fret(across, n) for n in range(across.radius_mm.size)],
        "twist_mrad": rounded(shape.twist_mrad, 4),
        "u_twist_mrad": rounded(shape.u_twist_mrad, 4),
        "u_twist_scan_mrad": rounded(shape.u_twist_scan_mrad, 4),
        "u_twist_rail_mrad": rounded(float(np.sqrt(max(rail2, 0.0))), 4),
    }


def _board(at: str, radius_mm: float, u_mm: float, form: str) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "at": at,
        "radius_mm": rounded(radius_mm, 2),
        "u_radius_mm": rounded(u_mm, 3),
    }
    return {**entry, "status": NO_BOARD[form]} if form in NO_BOARD else entry


def _fret(across: Across, n: int) -> dict[str, Any]:
    radius = float(across.radius_mm[n])
    return {
        "fret": n + 1,
        "radius_mm": rounded(radius, 2),
        "u_radius_mm": rounded(float(across.u_radius_mm[n]), 3),
        "lanes": int(across.lanes[n]),
        "status": FLAT if np.isinf(radius) else UNSEEN if np.isnan(radius) else "ok",
    }
