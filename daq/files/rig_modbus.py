"""The keys of a link behind which a Modbus RTU sensor is polled."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import BeforeValidator

from daq.files.checks import Choice, Flag, Number, Whole
from daq.files.faults import Fault, describe
from daq.files.known import Known
from daq.files.rig_protocol import Around, ProtocolKeys


class ModbusKeys(ProtocolKeys):
    """Which register of which unit holds the reading.

    first_register: its number as it goes over the wire, from 0. count: registers of 16 bits.
    word_order: which of two comes first. decimals: of a floating-point number. invalid: the value
    that means no reading. most_hz: how often it may be asked.
    """

    unit: Annotated[int, BeforeValidator(Whole(1, 247))]
    first_register: Annotated[int, BeforeValidator(Whole(0, 65535))]
    count: Annotated[int, BeforeValidator(Whole(1, 2, "registers"))] = 1
    table: Annotated[str, BeforeValidator(Choice(("input", "holding")))] = "input"
    signed: Annotated[bool, BeforeValidator(Flag())] = True
    word_order: Annotated[str, BeforeValidator(Choice(("big", "little")))] = "big"
    invalid: Annotated[int, BeforeValidator(Whole(-(2**31), 2**32 - 1))] | None = None
    decimals: Annotated[int, BeforeValidator(Whole(0, 9, "decimals"))] | None = None
    most_hz: Annotated[float, BeforeValidator(Number(1, 1000, "Hz"))] | None = None

    def settings(self, around: Around) -> dict[str, Any]:
        """With what an exchange takes on the wire: that bounds how often it can be asked."""
        given = self.model_dump(exclude_none=True)
        return {**given, "baud": around.baud, "byte_bits": around.byte_bits}


def modbus_rules(known: Known) -> Iterator[Fault]:
    """Every fault between the keys of a polled sensor."""
    link = known.text("sensor", "link")
    path = ("links", link or "", "modbus")
    if link is None or known.number(*path, "decimals") is None:
        return
    if known.number(*path, "count") != 2:
        yield Fault(
            (*path, "decimals"),
            describe(known.get(*path, "decimals")),
            "this key only where count is 2: a floating-point number takes two registers",
            "leave it out where the register holds a whole number",
        )
