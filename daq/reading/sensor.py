"""The sensor's curve, from the document that was kept."""

from __future__ import annotations

import numpy as np

from calibration.sensor import SensorCurve, from_document
from daq.reading.found import Document


def sensor_of(document: Document) -> SensorCurve:
    """The curve a document describes. Raises KeyError or ValueError where it describes none."""
    curve = from_document(document)
    if curve.coefficients.shape not in ((2,), (3,)) or curve.reading_mm.ndim != 1:
        raise ValueError("coefficients must be two or three numbers, reading_mm a list of them")
    if not (curve.reading_mm.size and np.isfinite(curve.coefficients).all()):
        raise ValueError("a number is missing")
    return curve
