"""What the groups of keys have in common that say how a device speaks its protocol."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from daq.files.userfile import Keys


@dataclass(frozen=True, slots=True)
class Around:
    """What a protocol may need of the rest of the rig file.

    baud: of its link. byte_bits: what a byte takes on the wire, with start, parity and stop.
    rate_hz: the samples a second that will be asked for.
    """

    baud: int
    byte_bits: int
    rate_hz: int


class ProtocolKeys(Keys):
    """The group named like a link's protocol."""

    def settings(self, around: Around) -> dict[str, Any]:
        """What makes the dialect, as JSON holds it: for `dialect_of`."""
        return self.model_dump()
