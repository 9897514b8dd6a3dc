"""The binary protocol as a dialect: binary frames from the rig, the line protocol's to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from daq.wire.binary.decode import BinaryDecoder
from daq.wire.line.dialect import LineTalk


@dataclass(frozen=True, slots=True)
class BinaryDialect:
    """It has nothing to be set."""

    @property
    def protocol(self) -> str:
        return "binary"

    @property
    def has_clock(self) -> bool:
        return True

    def settings(self) -> Mapping[str, Any]:
        """None."""
        return {}

    def decoder(self, *, skip_first: bool = False) -> BinaryDecoder:
        """A new decoder."""
        return BinaryDecoder(skip_first=skip_first)

    def talk(self) -> LineTalk:
        """A new conversation."""
        return LineTalk()
