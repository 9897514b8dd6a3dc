"""What `rig check` found, as a document."""

from __future__ import annotations

from typing import Any

from daq.acquire.check import RigHealth
from daq.documents.numbers import rounded


def health_document(rig: str, health: RigHealth) -> dict[str, Any]:
    """Rate, gaps, bad frames and noise of a rig that stands still."""
    noise = health.noise_um
    return {
        "rig": rig,
        "device": health.hello.device_id,
        "highest_rate_hz": health.hello.max_rate_hz,
        "asked_rate_hz": health.asked_rate_hz,
        "rate_hz": rounded(health.rate_hz, 3),
        "samples": health.samples,
        "gaps": health.gaps,
        "lost": health.lost,
        "bad_frames": health.bad_frames,
        "invalid": health.invalid,
        "noise_um": None if noise is None else rounded(noise, 3),
        "pad_every_s": None if health.pad_every_s is None else rounded(health.pad_every_s, 1),
        "temperature_c": health.temperature_c,
        "x_mm": rounded(health.x_mm, 3),
        "y_mm": None if health.y_mm is None else rounded(health.y_mm, 3),
        "fit": not health.faults,
        "status": "; ".join(health.faults) or "ok",
    }
