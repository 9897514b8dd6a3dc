"""What the groups of keys have in common that say how a device speaks its protocol."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from daq.files.userfile import Keys


@dataclass(frozen=True, slots=True)
class Counts:
    """What the carriage's counts are worth, and its usual speed. cross_mm_per_count: None where
    the cross slide is set by hand."""

    mm_per_count: float
    cross_mm_per_count: float | None
    speed_mm_s: float


@dataclass(frozen=True, slots=True)
class Around:
    """What a protocol may need of the rest of the rig file.

    baud: of its link. byte_bits: what a byte takes on the wire, with start, parity and stop.
    rate_hz: the samples a second that will be asked for. counts: the carriage's.
    """

    baud: int
    byte_bits: int
    rate_hz: int
    counts: Counts


class ProtocolKeys(Keys):
    """The group named like a link's protocol."""

    def settings(self, around: Around) -> dict[str, Any]:
        """What makes the dialect, as JSON holds it: for `dialect_of`."""
        return self.model_dump()
