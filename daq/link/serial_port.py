"""A serial port. No other module knows the serial library."""

from __future__ import annotations

import time

import serial
from serial.tools import list_ports

from daq.errors import RigError
from daq.link import faults

WAIT_S = 0.05
GATHER_S = 0.002
MOST_BYTES = 65536
FAST_BYTES = 1024
"""More than this at once, and the system's own store of some 4 KiB could run over in a wait."""
WRITE_WAIT_S = 2.0


def serial_ports() -> list[str]:
    """The ports of this machine that look like serial devices."""
    return sorted(str(found.device) for found in list_ports.comports())


class SerialLink:
    """A serial port, held exclusively.

    framing: data bits, parity and stop bits, as in 8N1 or 7E1. Raises RigError where it cannot
    be opened: absent, forbidden, busy, or no serial port.
    """

    def __init__(self, port: str, baud: int, framing: str) -> None:
        self.port = port
        self._fast = False
        try:
            self._serial = serial.Serial(
                port,
                baud,
                bytesize=int(framing[0]),
                parity=framing[1],
                stopbits=int(framing[2]),
                timeout=WAIT_S,
                write_timeout=WRITE_WAIT_S,
                exclusive=True,
            )
        except (OSError, ValueError) as error:
            raise faults.cannot_open(port, baud, error, serial_ports()) from error

    def read(self) -> bytes:
        """What has come, at most 64 KiB; waits up to 50 ms and returns b"" where nothing came."""
        try:
            return self._take()
        except OSError as error:
            raise faults.LinkLost(self.port) from error

    def write(self, data: bytes) -> None:
        """Sends all of `data`."""
        try:
            self._serial.write(data)
        except serial.SerialTimeoutException as error:
            raise faults.deaf(self.port) from error
        except OSError as error:
            raise faults.LinkLost(self.port) from error

    def close(self) -> None:
        """Lets the port go."""
        try:
            self._serial.close()
        except OSError as error:
            raise RigError(f"closing {self.port} failed: {error}") from error

    def _take(self) -> bytes:
        waiting = self._serial.in_waiting
        if waiting:
            return bytes(self._serial.read(min(waiting, MOST_BYTES)))
        first = bytes(self._serial.read(1))
        if not first:
            return b""
        if not self._fast:
            # Waking for every few bytes costs a core; a moment's wait gathers a block of them.
            time.sleep(GATHER_S)
        data = first + bytes(self._serial.read(min(self._serial.in_waiting, MOST_BYTES - 1)))
        self._fast = len(data) > FAST_BYTES
        return data
