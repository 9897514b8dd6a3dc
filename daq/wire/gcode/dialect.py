"""G-code boards as a dialect."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from daq.wire.gcode.axes import Axes, Axis
from daq.wire.gcode.decode import GcodeDecoder, Words
from daq.wire.gcode.position import PositionReader
from daq.wire.gcode.talk import GcodeTalk


@dataclass(frozen=True, slots=True)
class GcodeDialect:
    """As the rig file says it, with what its counts are worth.

    mm_per_count: along. cross_mm_per_count: across, its sign of no account here; None where the
    board drives nothing across. own_mm_s: the speed of a move that says none. The others:
    `daq.files.rig_gcode`. Raises TemplateError for a `position` that is no template.
    """

    mm_per_count: float
    cross_mm_per_count: float | None
    own_mm_s: float
    query: str
    position: str
    home: str
    halt: str
    x_axis: str
    y_axis: str
    home_mm: Sequence[float]
    accepted: str
    refused: str
    alarm: str
    greeting: str
    chatter: Sequence[str]
    start: Sequence[str]
    most_hz: float

    def __post_init__(self) -> None:
        PositionReader(self.position, self.axes)

    @property
    def protocol(self) -> str:
        return "gcode"

    @property
    def has_clock(self) -> bool:
        """A board tells where it is, not when it was there."""
        return False

    @property
    def axes(self) -> Axes:
        """Its axes."""
        x_mm, y_mm = self.home_mm
        along = Axis(self.x_axis, self.mm_per_count, x_mm)
        if self.cross_mm_per_count is None:
            return Axes(along, None)
        return Axes(along, Axis(self.y_axis, abs(self.cross_mm_per_count), y_mm))

    def settings(self) -> Mapping[str, Any]:
        """All of it."""
        return asdict(self)

    def decoder(self, *, skip_first: bool = False) -> GcodeDecoder:
        """A new decoder."""
        words = Words(self.accepted, self.refused, self.alarm, self.greeting, tuple(self.chatter))
        return GcodeDecoder(PositionReader(self.position, self.axes), words, skip_first=skip_first)

    def talk(self) -> GcodeTalk:
        """A new conversation."""
        return GcodeTalk(self)
