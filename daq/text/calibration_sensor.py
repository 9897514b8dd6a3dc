"""What the sensor's calibration found, in words."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from rich.console import Console

from calibration.sensor.curve import SensorCurve, SensorFit
from calibration.sensor.hysteresis import Hysteresis
from calibration.sensor.order import BENT_CHANCE, Order
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.words import counted

_SHAPES = {1: "a straight line", 2: "a quadratic", 3: "a cubic", 4: "a quartic"}


def print_sensor(console: Console, fit: SensorFit, path: Path) -> None:
    """The curve, how it was decided, every reading's distance from it, rising against falling."""
    curve = fit.curve
    gauges = counted(int(np.unique(curve.gauge_mm).size), "gauge")
    say(
        console,
        f"The sensor follows {_SHAPES[curve.order]} through {gauges}, with a scatter of "
        f"{1e3 * curve.scatter_mm:.2f} µm a reading beside the gauges' own errors; off a straight "
        "line by "
        f"{1e3 * curve.linearity_mm:.2f} µm at most.",
        "bold",
    )
    _print_readings(console, curve)
    heading(console, "What it says")
    low, high = curve.range_mm
    whole = 1e3 * float(curve.u_of_difference(low, high))
    bullets(
        console,
        [
            _decided(fit.order),
            *_loop_words(fit.hysteresis),
            f"A height difference over the whole range is known to {whole:.2f} µm (standard "
            f"uncertainty){_in_proportion(curve)}.",
            f"Readings from {low:.3f} to {high:.3f} mm are covered; a scan takes none beyond.",
            f"Kept as {path}.",
        ],
    )


def _in_proportion(curve: SensorCurve) -> str:
    return ", a smaller one in proportion" if curve.order == 1 else ""


def _print_readings(console: Console, curve: SensorCurve) -> None:
    table = plain_table(
        ["gauge mm", "its u µm", "reading mm", "off the curve µm", "curve ± µm (95 %)"]
    )
    half = curve.half_width_mm(curve.reading_mm)
    rows = zip(
        curve.gauge_mm, curve.u_gauge_mm, curve.reading_mm, curve.residuals_mm, half, strict=True
    )
    for gauge, u_gauge, reading, off, width in rows:
        table.add_row(
            f"{gauge:g}",
            f"{1e3 * u_gauge:.2f}",
            f"{reading:.4f}",
            f"{1e3 * off:+.2f}",
            f"{1e3 * width:.2f}",
        )
    console.print(table)


def _decided(order: Order) -> str:
    """How the order was decided."""
    how = (
        "The curve is the lowest order whose next one, or two, explain no more than the scatter "
        f"and the gauges' own errors would by chance (F test at {100 * BENT_CHANCE:g} %)"
    )
    if not np.isfinite(order.chance):
        return f"{how}; for any higher one there are too few gauges."
    said = f"{how}: the chance here is {100 * order.chance:.3g} %."
    if np.isfinite(order.unseen_mm):
        said += f" A further bend of up to {1e3 * order.unseen_mm:.2f} µm would not be seen."
    return said


def _loop_words(loop: Hysteresis | None) -> list[str]:
    if loop is None:
        return [
            "Read one way only: a drift meanwhile would look like an error of scale, and what the "
            "sensor reads otherwise falling than rising is not known."
        ]
    drift, u_drift = 6e4 * loop.drift_mm_s, 6e4 * loop.u_drift_mm_s
    moved = f"Meanwhile it drifted by {drift:+.2f} ± {2.0 * u_drift:.2f} µm a minute, taken off."
    half = 1e3 * loop.half_width_mm
    if not loop.seen:
        return [
            f"Falling and rising it reads the same: {1e3 * loop.whole_mm:+.2f} ± {half:.2f} µm.",
            moved,
        ]
    each = [
        f"{1e3 * off:+.1f} ± {2e3 * u:.1f} µm at {gauge:g} mm"
        for gauge, off, u in zip(loop.gauge_mm, loop.each_mm, loop.u_each_mm, strict=True)
    ]
    return [
        f"Hysteresis: falling it reads {1e3 * loop.whole_mm:+.2f} ± {half:.2f} µm against rising "
        f"({', '.join(each)}). No reading of a scan tells its own way for sure, so half of that "
        "is added to the curve's uncertainty. Over a crown it moves both flanks along the travel, "
        "as a lag does, and goes out with it; a fret's height over the board may be off by all "
        "of it.",
        moved,
    ]
