"""What `rig check` found, in words."""

from __future__ import annotations

from rich.console import Console

from daq.acquire.check import RigHealth
from daq.files.rig import RigFile
from daq.text.console import bullets, say


def print_health(console: Console, rig: RigFile, health: RigHealth) -> None:
    """One line that says whether the rig is fit to scan, then what was seen."""
    if health.faults:
        say(console, f"{rig.name} is not fit to scan: {'; '.join(health.faults)}.", "bold red")
    else:
        say(console, f"{rig.name} is fit to scan.", "bold")
    bullets(console, _lines(health))


def _lines(health: RigHealth) -> list[str]:
    lines = [
        f"{health.hello.device_id}, up to {health.hello.max_rate_hz:g} Hz",
        f"{health.rate_hz:.1f} Hz by the rig's own clock, {health.asked_rate_hz:g} asked for",
        f"{health.samples} samples, {health.lost} lost in {health.gaps} gaps, "
        f"{health.bad_frames} damaged frames",
        f"carriage at {health.x_mm:.2f} mm",
    ]
    if health.noise_um is None:
        lines.append("no valid reading where the carriage stands: noise not known")
    else:
        lines.append(f"noise of one reading {health.noise_um:.2f} µm")
    if health.pad_every_s is not None:
        lines.append(
            f"come back to a pad every {health.pad_every_s:.0f} s or sooner: past that the sensor "
            "drifts by more than a pad reading can tell"
        )
    if health.temperature_c is not None:
        lines.append(f"{health.temperature_c:.1f} °C")
    return lines
