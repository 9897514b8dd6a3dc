"""All the protocols there are, by the name a rig file or a record calls them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from daq.wire.binary.dialect import BinaryDialect
from daq.wire.dialect import Dialect
from daq.wire.gcode.dialect import GcodeDialect
from daq.wire.line.dialect import LineDialect
from daq.wire.modbus.dialect import ModbusDialect
from daq.wire.printed.dialect import PrintedDialect


def dialect_of(protocol: str, settings: Mapping[str, Any]) -> Dialect:
    """The dialect of this name with these settings.

    Raises KeyError for a protocol that there is not, TypeError or ValueError for settings that
    are not its own.
    """
    return _KINDS[protocol](**settings)


_KINDS: Mapping[str, type[Dialect]] = {
    "line": LineDialect,
    "gcode": GcodeDialect,
    "binary": BinaryDialect,
    "printed": PrintedDialect,
    "modbus": ModbusDialect,
}

PROTOCOLS = tuple(_KINDS)
"""Their names."""
