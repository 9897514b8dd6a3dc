"""Where the carriage is and how long it takes to get somewhere, in counts and millimetres."""

from __future__ import annotations

import numpy as np

from daq.acquire.links.device_time import DeviceTime, steps
from daq.errors import RigError
from daq.files.rig import Carriage
from daq.wire.records import SampleBlock

Target = tuple[int | None, int | None]
NEAR_MM = 0.05
HOMING_SPARE_S = 10.0


class Place:
    """Follows the carriage of a rig through its moves and samples."""

    def __init__(self, carriage: Carriage) -> None:
        self._carriage = carriage
        low, high = carriage.travel_mm
        self._across_s = (high - low) / carriage.speed_mm_s
        self._x: int | None = None
        self._y: int | None = None
        self._time = DeviceTime()
        self._still_from_s: float | None = None
        self._rest_x = 0

    @property
    def homing_s(self) -> float:
        """How long homing may well take, in seconds: a rig looks for its end stop slowly."""
        return 2 * self._across_s + HOMING_SPARE_S

    def target(self, x_mm: float | None, y_mm: float | None) -> Target:
        """In counts. Raises RigError where the rig cannot go there."""
        low, high = self._carriage.travel_mm
        if x_mm is not None and not low <= x_mm <= high:
            raise RigError(
                f"x = {x_mm:g} mm is outside the carriage's travel, {low:g} to {high:g} mm; check "
                "pads and travel_mm in the rig file"
            )
        cross = self._carriage.cross
        if y_mm is not None and cross is None:
            raise RigError("the cross slide is set by hand: the rig cannot move y")
        x = None if x_mm is None else round(x_mm / self._carriage.mm_per_count)
        y = None if y_mm is None or cross is None else round(y_mm / cross.mm_per_count)
        return x, y

    def speed_counts(self, speed_mm_s: float | None) -> int | None:
        """In x counts a second, at least one."""
        if speed_mm_s is None:
            return None
        return max(1, round(speed_mm_s / self._carriage.mm_per_count))

    def takes_s(self, target: Target, speed_mm_s: float | None) -> float:
        """How long the way there takes; across the whole travel where the start is not known."""
        speed = speed_mm_s or self._carriage.speed_mm_s
        cross = self._carriage.cross
        along = self._way_mm(self._x, target[0], self._carriage.mm_per_count)
        aside = self._way_mm(self._y, target[1], cross.mm_per_count) if cross else 0.0
        return max(along, aside) / speed

    def sent(self) -> None:
        """A move begins: rest seen before it says nothing about its end."""
        self._still_from_s = None

    def arrived(self, target: Target) -> None:
        """The rig is where it was sent."""
        self._x = self._x if target[0] is None else target[0]
        self._y = self._y if target[1] is None else target[1]

    def homed(self) -> None:
        """The rig is at its zero."""
        self._x = self._y = 0

    def seen(self, block: SampleBlock) -> None:
        """Samples came."""
        if not len(block):
            return
        before_s = self._time.elapsed_s
        self._time.add(block)
        x = block.x.astype(np.int64)
        elsewhere = np.flatnonzero(np.abs(x - x[-1]) > self._near_counts)
        if elsewhere.size:
            (since_us,) = steps(block.t_us[[elsewhere[-1], -1]], None)
            self._still_from_s = self._time.elapsed_s - float(since_us) * 1e-6
            self._rest_x = int(x[-1])
        # From where it came to rest, not from block to block: one that creeps does not rest.
        elif self._still_from_s is None or abs(x[-1] - self._rest_x) > self._near_counts:
            self._still_from_s = before_s
            self._rest_x = int(x[-1])
        self._x = int(x[-1])

    @property
    def x_mm(self) -> float | None:
        """Where the carriage was last, None before anything is known."""
        return None if self._x is None else self._x * self._carriage.mm_per_count

    @property
    def time_s(self) -> float:
        """What has passed on the rig's clock while samples came."""
        return self._time.elapsed_s

    @property
    def still_s(self) -> float:
        """How long the samples have shown it in one place, by the rig's clock."""
        if self._still_from_s is None:
            return 0.0
        return self._time.elapsed_s - self._still_from_s

    def near(self, target_x: int | None) -> bool:
        """Whether it is at this x. Arrival has a tolerance: a driver may stop a count or two
        beside where it was sent."""
        if target_x is None or self._x is None:
            return False
        return abs(self._x - target_x) <= self._near_counts

    @property
    def _near_counts(self) -> int:
        return max(2, round(NEAR_MM / self._carriage.mm_per_count))

    def _way_mm(self, start: int | None, end: int | None, mm_per_count: float) -> float:
        if end is None:
            return 0.0
        if start is None:
            return self._across_s * self._carriage.speed_mm_s
        return abs((end - start) * mm_per_count)
