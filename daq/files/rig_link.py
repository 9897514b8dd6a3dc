"""A port of the rig file and how the device behind it speaks."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator

from daq.files.checks import Choice, Text, Whole
from daq.files.rig_framing import Framing, byte_bits
from daq.files.rig_gcode import GcodeKeys
from daq.files.rig_modbus import ModbusKeys
from daq.files.rig_printed import PrintedKeys
from daq.files.rig_protocol import Around, Counts, ProtocolKeys
from daq.files.userfile import Keys
from daq.wire.dialect import Dialect
from daq.wire.dialects import PROTOCOLS, dialect_of


class Link(Keys):
    """A port with a controller behind it: of the sensor, of the carriage, or of both.

    The group named like its protocol holds what is to be set there; the others are None.
    """

    port: Annotated[str, BeforeValidator(Text("a port such as /dev/ttyACM0"))]
    baud: Annotated[int, BeforeValidator(Whole(1200, 12_000_000, "baud"))]
    protocol: Annotated[str, BeforeValidator(Choice(PROTOCOLS))]
    framing: Annotated[str, BeforeValidator(Framing())] = "8N1"
    printed: PrintedKeys | None = None
    modbus: ModbusKeys | None = None
    gcode: GcodeKeys | None = None

    def dialect(self, rate_hz: int, counts: Counts) -> Dialect:
        """How the device behind it speaks, where so many samples a second are asked for."""
        around = Around(self.baud, byte_bits(self.framing), rate_hz, counts)
        return dialect_of(self.protocol, self._keys.settings(around))

    @property
    def _keys(self) -> ProtocolKeys:
        group: ProtocolKeys | None = getattr(self, self.protocol, None)
        return group or ProtocolKeys()
