"""A polled Modbus RTU sensor as a dialect."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from daq.wire.modbus.asked import Asked, silence_s
from daq.wire.modbus.talk import ModbusTalk

if TYPE_CHECKING:
    from daq.wire.modbus.decode import ModbusDecoder


@dataclass(frozen=True, slots=True)
class ModbusDialect:
    """baud, byte_bits: of the link. most_hz: how often it may be asked, None where it is only the
    line that bounds it. All else as in `Asked`.
    """

    unit: int
    first_register: int
    baud: int
    byte_bits: int
    count: int = 1
    table: str = "input"
    signed: bool = True
    word_order: str = "big"
    invalid: int | None = None
    decimals: int | None = None
    most_hz: float | None = None

    @property
    def protocol(self) -> str:
        return "modbus"

    @property
    def has_clock(self) -> bool:
        return False

    @property
    def asked(self) -> Asked:
        """Which registers."""
        return Asked(
            self.unit, self.first_register, self.count, self.table, self.signed, self.word_order,
            self.invalid, self.decimals,
        )  # fmt: skip

    @property
    def highest_hz(self) -> float:
        """How often the line and the sensor's own limit let it be asked."""
        by_line = 1.0 / self.asked.exchange_s(self.baud, self.byte_bits)
        return by_line if self.most_hz is None else min(by_line, self.most_hz)

    def settings(self) -> Mapping[str, Any]:
        """All of them."""
        return asdict(self)

    # The library that knows the frames takes longer to load than all of the wire's room: whoever
    # has no such sensor must not wait for it.

    def decoder(self, *, skip_first: bool = False) -> ModbusDecoder:
        """A new decoder."""
        from daq.wire.modbus.decode import ModbusDecoder

        return ModbusDecoder(self.asked, skip_first=skip_first)

    def talk(self) -> ModbusTalk:
        """A new conversation."""
        from daq.wire.modbus.frames import request

        return ModbusTalk(
            request(self.asked),
            self.unit,
            least_s=self.asked.exchange_s(self.baud, self.byte_bits),
            silence_s=silence_s(self.baud, self.byte_bits),
            highest_hz=self.highest_hz,
        )
