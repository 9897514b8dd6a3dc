"""What the calibration of lag and backlash found, in words."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from calibration.lag.fit import LagFit
from daq.text.console import bullets, say


def print_lag(console: Console, found: LagFit, path: Path) -> None:
    """Lag and backlash with what they are good to."""
    first, *others = lag_sentences(found, path)
    say(console, first, "bold")
    bullets(console, others)


def lag_sentences(found: LagFit, path: Path) -> list[str]:
    """The two numbers first, then what they are good to."""
    lag = found.lag
    first = (
        f"The sensor lags {1e3 * lag.lag_s:.3f} ± {2e3 * lag.u_lag_s:.3f} ms; the carriage has "
        f"{1e3 * lag.backlash_mm:.1f} ± {2e3 * lag.u_backlash_mm:.1f} µm of backlash."
    )
    return [first, _slope(found), _apart(found), f"Kept as {path}."]


def _slope(found: LagFit) -> str:
    slope, reach = 1e6 * found.slope_per_mm, 2e6 * found.u_slope_per_mm
    if found.varies:
        return (
            f"Backlash varies along the travel, by {slope:+.1f} ± {reach:.1f} µm a metre; the "
            f"figure above is at {found.lag.middle_mm:.0f} mm. Scans are corrected for both."
        )
    return (
        "Backlash is the same all along, as far as these passes tell: it varies by no more than "
        f"{abs(slope) + reach:.1f} µm a metre."
    )


def _apart(found: LagFit) -> str:
    return (
        f"Corrected, the passes stand {found.apart_um:.2f} µm apart along the travel, and their "
        f"readings scatter by {found.height_um:.2f} µm in height about one surface."
    )
