"""What a calibration found, in words."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from rich.console import Console

from calibration.lag import Lag
from calibration.rail import RailMap
from calibration.sensor import SensorCurve
from daq.text.console import bullets, say


def print_rail(console: Console, rail: RailMap, straightedge_um: float, path: Path) -> None:
    """The map in a sentence, and what it cannot tell."""
    say(
        console,
        f"The rail is mapped from {rail.x_mm[0]:.0f} to {rail.x_mm[-1]:.0f} mm: it is out of "
        f"straight by {1e3 * float(np.ptp(rail.r_mm)):.1f} µm in all, known to "
        f"± {2e3 * float(np.median(rail.u_mm)):.1f} µm.",
        "bold",
    )
    bullets(
        console,
        [
            f"The straightedge is taken as good to ± {2 * straightedge_um:.1f} µm; this scan "
            "cannot tell its error from the rail's. Give --straightedge-um if yours is another.",
            "A straight line is free in the map: it says nothing of the rail's height or tilt.",
            f"Kept as {path}.",
        ],
    )


def print_lag(console: Console, lag: Lag, path: Path) -> None:
    """Lag and backlash with what they are good to."""
    say(
        console,
        f"The sensor lags {1e3 * lag.lag_s:.3f} ± {2e3 * lag.u_lag_s:.3f} ms; the carriage has "
        f"{1e3 * lag.backlash_mm:.1f} ± {2e3 * lag.u_backlash_mm:.1f} µm of backlash.",
        "bold",
    )
    bullets(console, [f"Kept as {path}."])


def print_sensor(console: Console, curve: SensorCurve, path: Path) -> None:
    """The curve, how far each gauge lies off it, and where it may be used."""
    low, high = curve.range_mm
    shape = "a quadratic" if curve.bent else "a straight line"
    say(
        console,
        f"The sensor follows {shape} through {curve.gauge_mm.size} gauges, with a scatter of "
        f"{1e3 * curve.scatter_mm:.2f} µm; off a straight line by {1e3 * curve.linearity_mm:.2f} "
        "µm at most.",
        "bold",
    )
    gauges = zip(curve.gauge_mm.tolist(), curve.residuals_mm.tolist(), strict=True)
    bullets(
        console,
        [
            *(f"{gauge:g} mm: {1e3 * off:+.2f} µm off" for gauge, off in gauges),
            f"Readings from {low:.3f} to {high:.3f} mm are covered; a scan takes none beyond.",
            f"Kept as {path}.",
        ],
    )
