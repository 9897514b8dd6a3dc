"""Lag and backlash as they are kept, and back."""

from __future__ import annotations

import numpy as np

from calibration.lag import Lag
from daq.reading.found import Document


def lag_document(lag: Lag, rig: str, made: str, about: Document) -> dict[str, object]:
    """Lag and backlash as they are kept."""
    return {
        "kind": "lag",
        "rig": rig,
        "made": made,
        **about,
        "lag_ms": 1e3 * lag.lag_s,
        "u_lag_ms": 1e3 * lag.u_lag_s,
        "backlash_mm": lag.backlash_mm,
        "u_backlash_mm": lag.u_backlash_mm,
    }


def lag_of(document: Document) -> Lag:
    """What a document describes. Raises KeyError or ValueError where it describes none."""
    lag, u_lag, backlash, u_backlash = (
        float(document[key]) for key in ("lag_ms", "u_lag_ms", "backlash_mm", "u_backlash_mm")
    )
    if not np.isfinite([lag, u_lag, backlash, u_backlash]).all():
        raise ValueError("a number is missing")
    return Lag(1e-3 * lag, 1e-3 * u_lag, backlash, u_backlash)
