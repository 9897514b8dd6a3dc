"""Where to drive: the lanes of a scan, in carriage millimetres."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from analysis.instrument import Instrument
from daq.files.rig import PadEntry, RigFile

State = Literal["strung", "unstrung"]
Kind = Literal["under", "between", "straight"]
Point = tuple[float, float]
INSIDE_PAD_MM = 1.0
LAG_SPEED_SHARES = (0.9713, 0.4687)
SLOWER_EACH_TIME = 0.021


@dataclass(frozen=True, slots=True)
class LanePlan:
    """One lane.

    lane: its number on the scan, from 1.
    string: 3.0 is under string 3, 2.5 midway between 2 and 3; None on a straight lane.
    start_mm, end_mm: (x, y) of the pass away from the nut, from inside the first pad to
        inside the last.
    set_by_hand: y is the same all along, and a person sets it.
    """

    lane: int
    string: float | None
    kind: Kind
    start_mm: Point
    end_mm: Point
    set_by_hand: bool


@dataclass(frozen=True, slots=True)
class PassPlan:
    """One traverse of a lane: direction +1 away from the nut, -1 back towards it."""

    lane: LanePlan
    direction: int
    speed_mm_s: float

    @property
    def from_mm(self) -> Point:
        """(x, y) where it begins."""
        return self.lane.start_mm if self.direction > 0 else self.lane.end_mm

    @property
    def to_mm(self) -> Point:
        """(x, y) where it ends."""
        return self.lane.end_mm if self.direction > 0 else self.lane.start_mm


def lanes_for(instrument: Instrument, rig: RigFile, state: State) -> tuple[LanePlan, ...]:
    """Every lane of a scan, across the board from string 1.

    Strung: midway between neighbouring strings. Unstrung: under every string as well. A lane
    follows the strings' fan where the rig drives its cross slide; where a person sets it, y
    is the string's at the middle between the nut and the body joint.
    """
    first, last = (x for x, _ in _ends(rig))
    return tuple(
        LanePlan(
            number,
            string,
            "under" if string.is_integer() else "between",
            (first, _y_mm(instrument, rig, string, first)),
            (last, _y_mm(instrument, rig, string, last)),
            not rig.has_cross,
        )
        for number, string in enumerate(_strings(len(instrument.strings), state), start=1)
    )


def straight_lane(rig: RigFile, y_mm: float = 0.0) -> LanePlan:
    """Along the rail at one y, for calibrations."""
    (first, _), (last, _) = _ends(rig)
    return LanePlan(1, None, "straight", (first, y_mm), (last, y_mm), False)


def lane_along(rig: RigFile, number: int, string: int, y_mm: Callable[[float], float]) -> LanePlan:
    """From pad to pad over a straight line that lies at y_mm(x), along a string at pitch."""
    (first, _), (last, _) = _ends(rig)
    start, end = (first, y_mm(first)), (last, y_mm(last))
    return LanePlan(number, float(string), "straight", start, end, False)


def both_ways(lanes: Sequence[LanePlan], speed_mm_s: float) -> tuple[PassPlan, ...]:
    """Each lane away from the nut and back."""
    return tuple(PassPlan(lane, way, speed_mm_s) for lane in lanes for way in (1, -1))


def rail_passes(rig: RigFile, y_mm: float = 0.0, repeats: int = 4) -> tuple[PassPlan, ...]:
    """For the rail's error map: both ways at the rig's own speed, several times over."""
    return both_ways(_repeated(rig, repeats, y_mm), rig.carriage.speed_mm_s)


def lag_passes(rig: RigFile, y_mm: float = 0.0, repeats: int = 2) -> tuple[PassPlan, ...]:
    """For latency and backlash: both ways near full and near half speed, each several times.

    Not at just those speeds: where a sample's travel is a round number of counts, every count
    is rounded alike, and the whole pass stands off by up to half of one. Each time a little
    slower, for what rounding a speed leaves over the crowns there are is the same every time.
    """
    full = rig.carriage.speed_mm_s
    return tuple(
        one
        for lane in _repeated(rig, repeats, y_mm)
        for share in LAG_SPEED_SHARES
        for one in both_ways([lane], share * full * (1.0 - SLOWER_EACH_TIME * (lane.lane - 1)))
    )


def _repeated(rig: RigFile, repeats: int, y_mm: float = 0.0) -> list[LanePlan]:
    """The straight lane several times over, each time a lane of its own."""
    return [replace(straight_lane(rig, y_mm), lane=number) for number in range(1, repeats + 1)]


def end_pads(rig: RigFile) -> tuple[PadEntry, PadEntry]:
    """The pads on which every pass begins and ends: the first and the last along the rail."""
    return (
        min(rig.pads, key=lambda pad: pad.from_mm),
        max(rig.pads, key=lambda pad: pad.from_mm),
    )


def _ends(rig: RigFile) -> tuple[Point, Point]:
    first, last = end_pads(rig)
    return (first.from_mm + INSIDE_PAD_MM, 0.0), (last.to_mm - INSIDE_PAD_MM, 0.0)


def _strings(count: int, state: State) -> Iterator[float]:
    for string in range(1, count + 1):
        if state == "unstrung":
            yield float(string)
        if string < count:
            yield string + 0.5


def _y_mm(instrument: Instrument, rig: RigFile, string: float, x_mm: float) -> float:
    along_mm = x_mm - instrument.nut_at_mm
    if not rig.has_cross:
        middle = 0.5 * (len(instrument.strings) + 1)
        along_mm = 0.5 * float(instrument.fret_x_mm(instrument.body_joint_fret, middle))
    return float(instrument.string_y_mm(string, along_mm))
