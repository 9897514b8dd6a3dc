"""Modbus RTU frames, put together and taken apart by a kept library: no port of its own.

Of it only the framer (addressing, checksum) and the PDUs are used; each candidate of the right
size is handed to it alone, for after rubbish it would throw away the good frame that follows.
"""

from __future__ import annotations

from pymodbus.framer import FramerRTU
from pymodbus.pdu import DecodePDU
from pymodbus.pdu.register_message import ReadHoldingRegistersRequest, ReadInputRegistersRequest

from daq.wire.modbus.asked import Asked


def request(asked: Asked) -> bytes:
    """The question, as it goes out."""
    kind = ReadInputRegistersRequest if asked.table == "input" else ReadHoldingRegistersRequest
    pdu = kind(address=asked.first_register, count=asked.count, dev_id=asked.unit)
    return bytes(FramerRTU(DecodePDU(True)).buildFrame(pdu))


class Answers:
    """Takes frames of a device's apart."""

    def __init__(self) -> None:
        self._pdus = DecodePDU(False)
        self._framer = FramerRTU(self._pdus)

    def of(self, frame: bytes) -> tuple[tuple[int, ...], int] | None:
        """(registers, exception code or 0) of one whole frame; None where its check fails."""
        payload = self._framer.decode(frame)[3]
        pdu = self._pdus.decode(payload) if payload else None
        return None if pdu is None else (tuple(pdu.registers), pdu.exception_code)
