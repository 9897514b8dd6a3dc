"""Where the bytes of a rig are kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol


class Sink(Protocol):
    """Anything that keeps what goes over a link, in order. A journal is one."""

    def rx(self, t_ns: int, data: bytes) -> None:
        """Bytes from the rig and when they came."""

    def tx(self, t_ns: int, data: bytes) -> None:
        """Bytes to the rig and when they were sent."""

    def note(self, note: Mapping[str, Any]) -> None:
        """A remark about what the bytes belong to."""


class NullSink:
    """Keeps nothing: for a look at a rig that is not a measurement."""

    def rx(self, t_ns: int, data: bytes) -> None:
        """Forgets."""

    def tx(self, t_ns: int, data: bytes) -> None:
        """Forgets."""

    def note(self, note: Mapping[str, Any]) -> None:
        """Forgets."""
