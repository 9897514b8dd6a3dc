"""Lag and backlash as they are kept, and back."""

from __future__ import annotations

import numpy as np

from calibration.lag.fit import LagFit
from calibration.lag.lag import Lag
from daq.reading.found import Document


def lag_document(found: LagFit, rig: str, made: str, about: Document) -> dict[str, object]:
    """Lag and backlash as they are kept; a slope of 0 says that none was seen."""
    lag = found.lag
    return {
        "kind": "lag",
        "rig": rig,
        "made": made,
        **about,
        "lag_ms": 1e3 * lag.lag_s,
        "u_lag_ms": 1e3 * lag.u_lag_s,
        "backlash_mm": lag.backlash_mm,
        "u_backlash_mm": lag.u_backlash_mm,
        "correlation": lag.correlation,
        "middle_mm": lag.middle_mm,
        "backlash_um_per_m": 1e6 * lag.backlash_per_mm,
        "u_backlash_um_per_m": 1e6 * lag.u_backlash_per_mm,
        "apart_um": found.apart_um,
        "height_um": found.height_um,
    }


def lag_of(document: Document) -> Lag:
    """What a document describes. Raises KeyError or ValueError where it describes none.

    A document from before backlash could vary has no slope: it is 0.
    """
    values = [float(document[key]) for key in ("lag_ms", "u_lag_ms", "backlash_mm")]
    values.append(float(document["u_backlash_mm"]))
    more = ("backlash_um_per_m", "u_backlash_um_per_m", "middle_mm", "correlation")
    values += [float(document.get(key, 0.0)) for key in more]
    if not np.isfinite(values).all():
        raise ValueError("a number is missing")
    lag, u_lag, backlash, u_backlash, slope, u_slope, middle, correlation = values
    return Lag(
        1e-3 * lag, 1e-3 * u_lag, backlash, u_backlash, 1e-6 * slope, 1e-6 * u_slope, middle,
        correlation,
    )  # fmt: skip
