"""The rail's map as it is kept, and back."""

from __future__ import annotations

import numpy as np

from calibration.rail import RailMap
from daq.reading.found import Document


def rail_document(rail: RailMap, rig: str, made: str, about: Document) -> dict[str, object]:
    """The rail's map as it is kept, micrometres."""
    return {
        "kind": "rail",
        "rig": rig,
        "made": made,
        **about,
        "x_mm": np.round(rail.x_mm, 4).tolist(),
        "r_um": np.round(1e3 * rail.r_mm, 4).tolist(),
        "u_um": np.round(1e3 * rail.u_mm, 4).tolist(),
    }


def rail_of(document: Document) -> RailMap:
    """The map a document describes. Raises KeyError or ValueError where it describes none."""
    x, r, u = (np.array(document[key], dtype=float) for key in ("x_mm", "r_um", "u_um"))
    if not (x.ndim == 1 and x.size > 1 and x.shape == r.shape == u.shape):
        raise ValueError("x_mm, r_um and u_um are not of one length")
    if not np.isfinite([x, r, u]).all() or not (np.diff(x) > 0).all():
        raise ValueError("x_mm does not rise all the way, or a number is missing")
    return RailMap(x, 1e-3 * r, 1e-3 * u)
