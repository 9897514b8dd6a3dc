"""What `rig check` found, as a document."""

from __future__ import annotations

from typing import Any

from daq.acquire.health.check import RigHealth
from daq.acquire.health.link_health import LinkHealth
from daq.documents.numbers import rounded
from daq.reading.health import CalibrationState, Fitness, PadsMoved


def health_document(rig: str, health: RigHealth, fitness: Fitness) -> dict[str, Any]:
    """Rate, gaps, bad frames and noise of a rig that stands still, and how its calibrations are."""
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
        "links": [_link(one) for one in health.links],
        "travel_jitter_um": None
        if health.clocks is None
        else rounded(health.clocks.travel_jitter_um, 3),
        "noise_then_um": _rounded(fitness.noise_then_um, 3),
        "rate_then_hz": _rounded(fitness.rate_then_hz, 3),
        "pads": None if fitness.pads is None else _pads(fitness.pads),
        "calibrations": [_calibration(one) for one in fitness.calibrations],
        "redo": list(fitness.redo),
        "fit": fitness.fit,
        "status": "; ".join(fitness.faults) or "ok",
    }


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else rounded(value, digits)


def _link(link: LinkHealth) -> dict[str, Any]:
    return {
        "name": link.name,
        "port": link.port,
        "device": link.hello.device_id,
        "rate_hz": rounded(link.rate_hz, 3),
        "samples": link.samples,
        "gaps": link.gaps,
        "lost": link.lost,
        "bad_frames": link.bad_frames,
    }


def _pads(pads: PadsMoved) -> dict[str, Any]:
    return {
        "change_um": rounded(pads.change_um, 2),
        "u_change_um": rounded(pads.u_change_um, 2),
        "moved": pads.moved,
    }


def _calibration(one: CalibrationState) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "made": None if one.made is None else one.made.isoformat(timespec="seconds"),
        "age_days": one.age_days,
        "temperature_c": one.temperature_c,
        "state": one.state,
        "why": one.why,
    }
