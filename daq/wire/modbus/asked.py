"""Which registers hold the reading, what asking for them takes, and what their bits mean."""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence
from dataclasses import dataclass

from daq.wire.records import ABSENT

#: Read holding registers, read input registers (Modbus application protocol V1.1b3, 6.3 and 6.4).
FUNCTIONS = {"holding": 3, "input": 4}
REQUEST_BYTES = 8
EXCEPTION_BYTES = 5
EXCEPTION_BIT = 0x80
#: Silence that parts two frames: 3.5 characters, but never less than 1.75 ms (Modbus over serial
#: line V1.02, 2.5.1.1).
SILENT_CHARACTERS = 3.5
LEAST_SILENCE_S = 0.00175
LARGEST_COUNT = 2**31 - 1


def silence_s(baud: int, byte_bits: int) -> float:
    """What must part two frames."""
    return max(SILENT_CHARACTERS * byte_bits / baud, LEAST_SILENCE_S)


@dataclass(frozen=True, slots=True)
class Asked:
    """unit: 1 to 247. first_register: from 0. count: registers, 1 or 2. table: input or holding.

    signed: two's complement. word_order: which of two registers comes first, big or little.
    decimals: None for a whole number; else two registers hold a floating-point number (IEEE 754,
    single precision), and so many decimals of it are kept. invalid: the value that means no
    reading, None where there is none.
    """

    unit: int
    first_register: int
    count: int = 1
    table: str = "input"
    signed: bool = True
    word_order: str = "big"
    invalid: int | None = None
    decimals: int | None = None

    @property
    def function(self) -> int:
        return FUNCTIONS[self.table]

    @property
    def answer_bytes(self) -> int:
        """Unit, function, count of bytes, the registers, two of checksum."""
        return 5 + 2 * self.count

    def exchange_s(self, baud: int, byte_bits: int) -> float:
        """The least time between two questions: both frames, and silence after each."""
        on_line_s = (REQUEST_BYTES + self.answer_bytes) * byte_bits / baud
        return on_line_s + 2.0 * silence_s(baud, byte_bits)

    def raw(self, registers: Sequence[int]) -> int:
        """The reading in counts, ABSENT where there is none or no int32 holds it."""
        words = registers if self.word_order == "big" else registers[::-1]
        value = sum(word << 16 * place for place, word in enumerate(reversed(words)))
        return self._whole(value) if self.decimals is None else self._floating(value)

    def _whole(self, value: int) -> int:
        bits = 16 * self.count
        # a person may write the invalid value either way, as 32768 or as -32768
        if self.invalid is not None and (value - self.invalid) % 2**bits == 0:
            return ABSENT
        if self.signed and value >= 2 ** (bits - 1):
            value -= 2**bits
        return value if abs(value) <= LARGEST_COUNT else ABSENT

    def _floating(self, bits: int) -> int:
        """What is no number is no reading."""
        (value,) = struct.unpack(">f", bits.to_bytes(4, "big"))
        if not math.isfinite(value) or value == self.invalid:
            return ABSENT
        counts = round(value * 10.0 ** (self.decimals or 0))
        return counts if abs(counts) <= LARGEST_COUNT else ABSENT
