"""What the probe's calibration found, in words."""

from __future__ import annotations

from rich.console import Console

from calibration.probe.spot import SpotFound
from calibration.probe.tip import TipFound
from daq.steps.calibrate_probe import ProbeCalibrated
from daq.text.console import bullets, say

#: The crown that the spot's averaging is told for, radius in mm (common practice, no source).
CROWN_MM = 1.25


def print_probe(console: Console, done: ProbeCalibrated) -> None:
    """The tip or the spot, whether the rig file has it right, and what follows."""
    found = done.found
    if isinstance(found, TipFound):
        said = f"The tip is a ball of {found.radius_mm:.4f} ± {2.0 * found.u_mm:.4f} mm radius"
        more = _tip_words(found)
    else:
        said = f"The spot is {found.width_mm:.4f} ± {2.0 * found.u_mm:.4f} mm wide"
        more = _spot_words(found)
    say(console, f"{said} (twice the standard uncertainty).", "bold")
    bullets(
        console,
        [
            _against(done),
            *more,
            f"From {found.passes} passes, their readings {found.spread_um:.2f} µm about the shape.",
            f"Kept as {done.path}.",
        ],
    )


def _against(done: ProbeCalibrated) -> str:
    key = "tip_radius_mm" if isinstance(done.found, TipFound) else "spot_mm"
    if done.agrees:
        return f"The rig file's {key} of {done.nominal_mm:g} agrees with it."
    return (
        f"The rig file's {key} of {done.nominal_mm:g} is off by {-1e3 * done.off_mm:+.1f} µm. What "
        "was measured is used from now on, for as long as that line of the rig file stays as it is."
    )


def _tip_words(found: TipFound) -> list[str]:
    words = []
    if found.flat_mm:
        words.append(
            f"The tip is worn: it has a flat of about {found.flat_mm:.2f} mm (or the plunger has "
            "play). Flats on crowns read wider by that, and tops stay right: turn or change it."
        )
    if found.left_um == found.left_um:
        words.append(
            f"Taken off its trace, the ball leaves the pin, to {found.left_um:.2f} µm rms."
        )
    return words


def _spot_words(found: SpotFound) -> list[str]:
    off_um = 1e3 * found.width_mm**2 / (24.0 * CROWN_MM)
    u_um = 2.0 * off_um * found.u_mm / found.width_mm
    return [
        f"It takes {off_um:.3f} ± {2.0 * u_um:.3f} µm off a crown of {CROWN_MM:g} mm radius; the "
        "tops are corrected for it."
    ]
