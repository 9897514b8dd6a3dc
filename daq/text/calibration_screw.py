"""What the calibration of the lead screw found, in words."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from calibration.screw.fit import ScrewFit
from daq.text.console import bullets, say


def print_screw(console: Console, found: ScrewFit, path: Path) -> None:
    """Scale, periodic error or how much of one may be left, and what was not to be seen."""
    screw = found.screw
    further = "further" if screw.scale >= 1.0 else "less far"
    say(
        console,
        f"The carriage goes {1e6 * abs(screw.scale - 1.0):.0f} ± {2e6 * screw.u_scale:.0f} ppm "
        f"{further} than it counts.",
        "bold",
    )
    bullets(console, [_periodic(found), _frets(found), *found.unseen, f"Kept as {path}."])


def _periodic(found: ScrewFit) -> str:
    screw = found.screw
    if not found.periodic:
        return f"No periodic error seen; at most {found.most_um:.1f} µm."
    return (
        f"Each turn of {screw.pitch_mm:.3f} mm it runs ahead and behind by "
        f"{1e3 * screw.amplitude_mm:.1f} ± {2e3 * screw.u_periodic_mm:.1f} µm."
    )


def _frets(found: ScrewFit) -> str:
    return (
        f"Frets are taken to stand within ± {2 * found.misplaced_um:.0f} µm of their places; "
        f"beyond that a crown's place scatters by {found.scatter_um:.1f} µm."
    )
