"""What every protocol gives: a decoder of what the device sends, and the host's half of the talk.

Both are sans-IO: bytes in, records out, bytes to send; time is handed in. A device that speaks
less than the line protocol (a sensor that only prints, one that must be asked, a board that moves
and answers `ok`) is made up for by its talk, so that the rest of the shell sees one kind of rig.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Protocol

from daq.wire.commands import Command
from daq.wire.records import Batch


class Decoder(Protocol):
    """Bytes in, records out: the same records, in the same order, however the bytes are cut."""

    def feed(self, data: bytes) -> Batch:
        """Everything that these bytes complete. Nothing in them makes it raise."""


class Talk(Protocol):
    """The host's half of the conversation over one link."""

    def say(self, command: Command, now_s: float) -> bytes:
        """What goes out for a command: nothing where the device knows no such thing."""

    def due(self, now_s: float) -> bytes:
        """What a device that only answers is to be asked now; nothing where nothing is due."""

    def due_in_s(self, now_s: float) -> float:
        """How soon `due` will have something; math.inf where it never has."""

    def hear(self, batch: Batch, now_s: float) -> Batch:
        """What the decoder made of what came (or of nothing, once each turn), with the answers
        and events in it that the device does not give itself."""


class Dialect(Protocol):
    """How the device on one link speaks.

    has_clock: its samples carry the device's own time. Where they do not, they are given the
    time of their arrival.
    """

    @property
    def protocol(self) -> str: ...

    @property
    def has_clock(self) -> bool: ...

    def settings(self) -> Mapping[str, Any]:
        """What makes it, as JSON holds it, for the record: `dialect_of(protocol, settings)`."""

    def decoder(self, *, skip_first: bool = False) -> Decoder:
        """A new decoder. skip_first: the first frame may have lost its beginning."""

    def talk(self) -> Talk:
        """A new conversation."""


class NothingDue:
    """For devices that send of themselves: they are never asked, and answer themselves."""

    def due(self, now_s: float) -> bytes:
        """Nothing."""
        return b""

    def due_in_s(self, now_s: float) -> float:
        """Never."""
        return math.inf

    def hear(self, batch: Batch, now_s: float) -> Batch:
        """As it came."""
        return batch
