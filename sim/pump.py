"""How a device's time runs against the host's, and so when its bytes reach the port."""

from __future__ import annotations

import time
from typing import Protocol

from sim.controller import Controller
from sim.delays import Delays
from sim.pace import Pace

BLOCK_BYTES = 16_384
# A carriage at rest would flood a fast reader, and with its clock its drift would run away:
# small blocks, a hundred a second at most, are still 50 times real time at 400 Hz.
STILL_BYTES = 9_200
STILL_EVERY_S = 0.01


class Pump(Protocol):
    """keeps_time: bytes are due when they are due, whether the reader has taken others or not."""

    @property
    def keeps_time(self) -> bool: ...

    def next_bytes(self) -> bytes:
        """What the port sends next, empty for nothing yet."""
        ...

    def forget(self) -> None:
        """The reader has gone: what was on its way to it is lost."""
        ...

    def wait_s(self, more: bool) -> float:
        """How long the port may rest; `more`: it still has bytes that were not taken."""
        ...


class FreeRun:
    """As fast as the reader takes it; arrival times mean nothing."""

    keeps_time = False

    def __init__(self, device: Controller) -> None:
        self._device = device
        self._next_still_s = 0.0

    def next_bytes(self) -> bytes:
        if self._device.moving or not self._device.streaming:
            return self._device.produce(BLOCK_BYTES)
        now_s = time.monotonic()
        if now_s < self._next_still_s:
            # Answers do not wait: only time stands still.
            return self._device.produce(1, self._device.now_s)
        self._next_still_s = now_s + STILL_EVERY_S
        return self._device.produce(STILL_BYTES)

    def forget(self) -> None:
        pass

    def wait_s(self, more: bool) -> float:
        if self._device.moving:
            return 0.005 if more else 0.0
        return STILL_EVERY_S if self._device.streaming else 0.05


class Paced:
    """Up to the moment the rig's time has come to, then delayed on its way."""

    keeps_time = True

    def __init__(self, device: Controller, pace: Pace, delays: Delays) -> None:
        self._device = device
        self._pace = pace
        self._delays = delays

    def next_bytes(self) -> bytes:
        now_s = self._pace.now_s
        while data := self._device.produce(BLOCK_BYTES, now_s):
            self._delays.send(now_s, data)
        return self._delays.arrived(now_s)

    def forget(self) -> None:
        self._delays.forget()

    def wait_s(self, more: bool) -> float:
        return self._pace.every_s
