"""What a pass has brought, link by link."""

from __future__ import annotations

from dataclasses import dataclass

from daq.record.merge import Arrived
from daq.wire.records import ABSENT, Event, SampleBlock


@dataclass(frozen=True, slots=True)
class Seen:
    """What came over one link.

    who: its controller, as messages call it. drives: the carriage hangs on it.
    """

    who: str
    drives: bool
    arrived: Arrived
    events: tuple[Event, ...]
    bad_frames: int

    @property
    def samples(self) -> SampleBlock:
        """In the order they came."""
        return self.arrived.samples


def swapped(sensor: SampleBlock, carriage: SampleBlock) -> bool:
    """Whether the two links of a rig stand one for the other.

    What should be the sensor's has no reading, and either counts or has readings beside it.
    """
    if not (len(sensor) and len(carriage)) or (sensor.raw != ABSENT).any():
        return False
    return bool((carriage.raw != ABSENT).any() or (sensor.x != 0).any())
