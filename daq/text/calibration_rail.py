"""What the rail's calibration found, in words."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from rich.console import Console

from calibration.rail import RailMap
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
