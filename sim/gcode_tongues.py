"""How boards of two kinds put things: no standard says any of this."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Tongue:
    """position: state (Idle, Run, Home, Alarm) and place to a line. query, reset: characters obeyed
    at once, wherever in a line; empty for none. halt, home: lines of its own; empty for none.
    locks: after an alarm it takes nothing but homing. settings: what its rig file says.
    """

    name: str
    greeting: str
    error: str
    alarm: str
    position: Callable[[str, Point], str]
    query: bytes
    reset: bytes
    halt: str
    home: str
    locks: bool
    settings: str


def _plain(state: str, at_mm: Point) -> str:
    x, y = at_mm
    return f"X:{x:.2f} Y:{y:.2f} Z:0.00 E:0.00 Count X:{100 * x:.0f} Y:{100 * y:.0f} Z:0"


def _framed(state: str, at_mm: Point) -> str:
    x, y = at_mm
    return f"<{state}|MPos:{x:.3f},{y:.3f},0.000|FS:0,0>"


PLAIN = Tongue(
    "plain", "start", "Error:", "!! ", _plain, b"", b"", "M410", "", locks=False,
    settings='gcode: {halt: M410, query: M114, position: "X:{x} Y:{y} {any}", '
    'home: G28 X0 Y0, greeting: start, alarm: "!!", most_hz: 50}',
)  # fmt: skip
FRAMED = Tongue(
    "framed", "Board ready", "error:", "ALARM:", _framed, b"?", b"\x18", "", "$H", locks=True,
    settings='gcode: {halt: "\\x18", query: "?", position: "<{any}|MPos:{x},{y},{any}", '
    "home: $H, greeting: Board ready, most_hz: 50}",
)  # fmt: skip
