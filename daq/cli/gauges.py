"""Gauges as a person types them: thicknesses between commas, each with its own uncertainty or
with the one that holds for all."""

from __future__ import annotations

import math
from itertools import pairwise

from daq.errors import InputError
from daq.steps.calibrate_sensor import Gauge

LEAST = 3
MOST = 60
THICKEST_MM = 100.0
MOST_UM = 100.0
_EXAMPLE = "such as 0,0.5,1,1.5,2 or, each with its own uncertainty in µm, 0:0.1,0.5:0.3,1:0.3"


def gauges_of(given: str, gauge_um: float) -> list[Gauge]:
    """From 0,0.5,1 or 0:0.1,0.5:0.3,1: mm, and µm behind a colon.

    gauge_um: standard uncertainty of those that give none. Raises InputError, before anything is
    read: what is no number, out of range, twice the same, or not all one way.
    """
    if not 0.0 <= gauge_um <= MOST_UM:
        raise InputError(f"--gauge-um: found {gauge_um:g}; allowed 0 to {MOST_UM:g} µm")
    gauges = [_gauge(part.strip(), gauge_um, given) for part in given.split(",")]
    if not LEAST <= len(gauges) <= MOST:
        raise InputError(
            f"--gauges: found {len(gauges)} of them, {given!r}; allowed {LEAST} to {MOST} "
            f"different thicknesses, {_EXAMPLE}"
        )
    _check_order([gauge.mm for gauge in gauges])
    return gauges


def _gauge(part: str, gauge_um: float, given: str) -> Gauge:
    thickness, colon, own = part.partition(":")
    try:
        gauge = Gauge(float(thickness), float(own) if colon else gauge_um)
    except ValueError:
        raise InputError(
            f"--gauges: found {part!r} in {given!r}; allowed thicknesses in mm between commas, "
            f"{_EXAMPLE}"
        ) from None
    if not (math.isfinite(gauge.mm) and -THICKEST_MM <= gauge.mm <= THICKEST_MM):
        raise InputError(
            f"--gauges: found a thickness of {gauge.mm:g} mm; allowed {-THICKEST_MM:g} to "
            f"{THICKEST_MM:g} mm"
        )
    if not 0.0 <= gauge.u_um <= MOST_UM:
        raise InputError(
            f"--gauges: found an uncertainty of {gauge.u_um:g} µm for the {gauge.mm:g} mm gauge; "
            f"allowed 0 to {MOST_UM:g} µm"
        )
    return gauge


def _check_order(mm: list[float]) -> None:
    """All different, and thicker and thicker, or thinner and thinner: up against down is told
    from the way the tip came."""
    twice = next((one for number, one in enumerate(mm) if one in mm[:number]), None)
    if twice is not None:
        raise InputError(
            f"--gauges: found {twice:g} mm twice; allowed each thickness once (every gauge is "
            "read again on the way back)"
        )
    rising = mm[-1] > mm[0]
    for before, after in pairwise(mm):
        if (after > before) != rising:
            raise InputError(
                f"--gauges: found {after:g} mm after {before:g} mm, out of order; allowed from "
                "thin to thick, or from thick to thin"
            )
