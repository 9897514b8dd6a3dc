"""What the sensor's curve leaves uncertain of the tops it was used for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analysis.neck.neck import Neck
from calibration.sensor.curve import SensorCurve


def with_curve(neck: Neck, curve: SensorCurve) -> Neck:
    """The neck with the curve's own uncertainty among the terms of its tops.

    What the curve gets wrong alike for all tops falls out of every shape: counted is its u of
    the height between a top and the middle of all of them. The readings behind the heights are
    found back along the curve's straight part, which is near enough for an uncertainty.
    """
    slope = curve.coefficients[1]
    reading = curve.reference_mm + (neck.top_mm - curve.coefficients[0]) / slope
    middle = np.full_like(reading, np.nanmean(reading))
    terms = neck.terms.also(sensor=curve.u_of_difference(reading, middle))
    return replace(neck, terms=terms, u_top_mm=terms.u_mm)
