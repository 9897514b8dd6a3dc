"""Where the bytes of a rig are kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from daq.record.journal_format import Received


class Sink(Protocol):
    """Anything that keeps what goes over the links, in order. A journal is one.

    link: 0, or 1 for the carriage's where it has one of its own.
    """

    def rx(self, received: Sequence[Received]) -> None:
        """What came from the rig since the last time, of all links in the order it came."""

    def tx(self, t_ns: int, data: bytes, link: int = 0) -> None:
        """Bytes to the rig and when they were sent."""

    def note(self, note: Mapping[str, Any]) -> None:
        """A remark about what the bytes belong to."""


class NullSink:
    """Keeps nothing: for a look at a rig that is not a measurement."""

    def rx(self, received: Sequence[Received]) -> None:
        """Forgets."""

    def tx(self, t_ns: int, data: bytes, link: int = 0) -> None:
        """Forgets."""

    def note(self, note: Mapping[str, Any]) -> None:
        """Forgets."""
