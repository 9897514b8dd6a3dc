"""What the calibration of lag and backlash found, in words."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from calibration.lag import Lag
from daq.text.console import bullets, say


def print_lag(console: Console, lag: Lag, path: Path) -> None:
    """Lag and backlash with what they are good to."""
    say(
        console,
        f"The sensor lags {1e3 * lag.lag_s:.3f} ± {2e3 * lag.u_lag_s:.3f} ms; the carriage has "
        f"{1e3 * lag.backlash_mm:.1f} ± {2e3 * lag.u_backlash_mm:.1f} µm of backlash.",
        "bold",
    )
    bullets(console, [f"Kept as {path}."])
