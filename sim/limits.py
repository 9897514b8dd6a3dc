"""What the firmware accepts: each refusal says what was asked and what is allowed."""

from __future__ import annotations

from dataclasses import dataclass

from sim.rigspec import RigSpec


class Refusal(Exception):
    """The message is the reason sent back; it holds no comma."""


@dataclass(frozen=True, slots=True)
class Target:
    """A move asked for, in counted mm."""

    to_mm: tuple[float, float]
    speed_mm_s: float


def stream_rate_hz(fields: tuple[str, ...], highest_hz: int) -> int:
    """Refusal unless one whole number from 1 to the highest rate."""
    if len(fields) != 1:
        raise Refusal("G takes one field: the rate in Hz")
    rate_hz = _whole("rate", fields[0])
    _within("rate", rate_hz, 1, highest_hz)
    return rate_hz


def move_target(fields: tuple[str, ...], here_mm: tuple[float, float], spec: RigSpec) -> Target:
    """Refusal for a wrong count of fields, no number, or a target or speed out of bounds."""
    if len(fields) != 3:
        raise Refusal("M takes three fields: x and y and speed")
    x_mm = _axis("x", fields[0], spec.mm_per_x_count, spec.travel_mm, here_mm[0])
    y_mm = _axis("y", fields[1], spec.mm_per_y_count, spec.cross_mm, here_mm[1])
    return Target((x_mm, y_mm), _speed_mm_s(fields[2], spec))


def _axis(
    name: str, text: str, mm_per_count: float, limits_mm: tuple[float, float], here_mm: float
) -> float:
    if not text:
        return here_mm
    counts = _whole(name, text)
    low, high = (round(limit / mm_per_count) for limit in limits_mm)
    _within(name, counts, low, high)
    return counts * mm_per_count


def _speed_mm_s(text: str, spec: RigSpec) -> float:
    if not text:
        return spec.speed_mm_s
    counts_s = _whole("speed", text)
    _within("speed", counts_s, 1, round(spec.fastest_mm_s / spec.mm_per_x_count))
    return counts_s * spec.mm_per_x_count


def _whole(name: str, text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise Refusal(f"{name} is not a whole number") from None


def _within(name: str, value: int, low: int, high: int) -> None:
    if not low <= value <= high:
        raise Refusal(f"{name} {value} outside {low} to {high}")
