"""Where the bytes of a rig are kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol


class Sink(Protocol):
    """Anything that keeps what goes over the links, in order. A journal is one.

    link: 0, or 1 for the carriage's where it has one of its own.
    """

    def rx(self, t_ns: int, data: bytes, link: int = 0) -> None:
        """Bytes from the rig and when they came."""

    def tx(self, t_ns: int, data: bytes, link: int = 0) -> None:
        """Bytes to the rig and when they were sent."""

    def note(self, note: Mapping[str, Any]) -> None:
        """A remark about what the bytes belong to."""


class NullSink:
    """Keeps nothing: for a look at a rig that is not a measurement."""

    def rx(self, t_ns: int, data: bytes, link: int = 0) -> None:
        """Forgets."""

    def tx(self, t_ns: int, data: bytes, link: int = 0) -> None:
        """Forgets."""

    def note(self, note: Mapping[str, Any]) -> None:
        """Forgets."""
