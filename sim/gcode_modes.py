"""What lines mean: modes that stay until they are changed, and what is to be done."""

from __future__ import annotations

from dataclasses import dataclass

from sim.gcode_words import BadLine, Block
from sim.rigspec import RigSpec

INCH_MM = 25.4
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Go:
    """A straight move: to_mm is the machine's, speed_mm_s that of the axis that goes further."""

    to_mm: Point
    speed_mm_s: float


@dataclass(frozen=True, slots=True)
class Wait:
    """Until all moves before it are over, and then so long."""

    seconds: float


@dataclass(frozen=True, slots=True)
class Home:
    """To the end stops."""


@dataclass(frozen=True, slots=True)
class Tell:
    """Where it is."""


Deed = Go | Wait | Home | Tell
IGNORED = ("M17", "M18", "M84")
"""The motors' current, of no account here."""


class Modes:
    """The modal state of a board, from power-on.

    shift_mm: what G92 has made of the machine's places: theirs less it is what X and Y say.
    """

    def __init__(self, spec: RigSpec) -> None:
        self._spec = spec
        self._unit_mm = 1.0
        self._absolute = True
        self._motion: str | None = None
        self._feed_mm_s: float | None = None
        self.shift_mm: Point = (0.0, 0.0)

    def obey(self, block: Block, here_mm: Point) -> Deed | None:
        """What a line is to do, in the standard's order: feed, units, distance, the rest.

        here_mm: where the moves before it end. BadLine for what cannot be done.
        """
        self._units(block)
        if "F" in block.numbers:
            self._feed_mm_s = self._fed(block.numbers["F"])
        if "G90" in block.codes or "G91" in block.codes:
            self._absolute = "G90" in block.codes
        once = block.code("once")
        if once == "G4":
            return Wait(self._dwell_s(block))
        if once == "G28":
            return Home()
        if once == "G92":
            self._call_it(block, here_mm)
            return None
        self._motion = block.code("motion") or self._motion
        if "X" in block.numbers or "Y" in block.numbers:
            return self._go(block, here_mm)
        return self._other(block)

    def _units(self, block: Block) -> None:
        if "G20" in block.codes or "G21" in block.codes:
            self._unit_mm = INCH_MM if "G20" in block.codes else 1.0

    def _fed(self, a_minute: float) -> float:
        if a_minute <= 0.0:
            raise BadLine("the feed rate is not above 0")
        return a_minute * self._unit_mm / 60.0

    def _dwell_s(self, block: Block) -> float:
        seconds = block.numbers.get("P", 0.0)
        if seconds < 0.0:
            raise BadLine("the dwell is below 0")
        return seconds

    def _call_it(self, block: Block, here_mm: Point) -> None:
        """G92: from now on, here is called so."""
        x, y = (block.numbers.get(letter) for letter in "XY")
        self.shift_mm = (
            self.shift_mm[0] if x is None else here_mm[0] - x * self._unit_mm,
            self.shift_mm[1] if y is None else here_mm[1] - y * self._unit_mm,
        )

    def _go(self, block: Block, here_mm: Point) -> Go:
        if self._motion is None:
            raise BadLine("axis words without G0 or G1")
        to_mm = self._target(block, here_mm)
        bounds = (self._spec.travel_mm, self._spec.cross_mm)
        for letter, at, (low, high) in zip("XY", to_mm, bounds, strict=True):
            if not low - 1e-9 <= at <= high + 1e-9:
                raise BadLine(f"{letter}{at:g} is outside {low:g} to {high:g}")
        way_mm = [abs(to - at) for to, at in zip(to_mm, here_mm, strict=True)]
        path_mm = (way_mm[0] ** 2 + way_mm[1] ** 2) ** 0.5
        share = max(way_mm) / path_mm if path_mm else 1.0
        return Go(to_mm, min(self._along_path_mm_s(), self._spec.fastest_mm_s) * share)

    def _target(self, block: Block, here_mm: Point) -> Point:
        given = [block.numbers.get(letter) for letter in "XY"]
        x_mm, y_mm = (
            at if value is None
            else value * self._unit_mm + (shift if self._absolute else at)
            for value, at, shift in zip(given, here_mm, self.shift_mm, strict=True)
        )  # fmt: skip
        return x_mm, y_mm

    def _along_path_mm_s(self) -> float:
        if self._motion == "G0":
            return self._spec.fastest_mm_s
        if self._feed_mm_s is None:
            raise BadLine("G1 without a feed rate")
        return self._feed_mm_s

    def _other(self, block: Block) -> Deed | None:
        for code in block.codes:
            if code == "M114":
                return Tell()
            if code.startswith("M") and code not in IGNORED:
                raise BadLine(f"unknown code {code}")
        return None
