"""What the sensor's calibration found, in words."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from calibration.sensor import SensorCurve
from daq.text.console import bullets, say


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
