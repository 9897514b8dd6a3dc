"""A pty with a device behind it."""

from __future__ import annotations

import contextlib
import os
import select
import termios
import tty

from sim.controller import Controller, Flood
from sim.pump import Pump

SILENT_CHECK_S = 0.01
HANG_UP_CHECK_S = 0.01
FLOOD_BYTES = 16_384


class PtyPort:
    """The master side. `poll` returns soon: one turn of reading, running and writing.

    The slave is not kept open here: while no reader has it open the master reports a hang-up,
    which is how the device learns that its reader has gone.
    """

    def __init__(self, device: Controller, pump: Pump) -> None:
        self._device = device
        self._pump = pump
        self._pending = b""
        self._noise = b""
        self._silent = False
        self._flood: Flood | None = None
        self.hung_up = True
        self._master, slave = os.openpty()
        tty.setraw(slave)
        self.name = os.ttyname(slave)
        os.close(slave)
        os.set_blocking(self._master, False)
        self._watch = select.poll()

    def fileno(self) -> int:
        return self._master

    def close(self) -> None:
        """Pulls the cable: readers get an error or an end of file."""
        os.close(self._master)

    def silence(self, on: bool) -> None:
        """A device that has hung: it says nothing and hears nothing."""
        self._silent = on

    def noise(self, data: bytes) -> None:
        """Rubbish on the cable, sent before anything else."""
        self._noise += data

    def flood(self, kind: Flood | None) -> None:
        """More of these than anybody asked for, as fast as they are taken; None ends it.

        Refusal where the device has none.
        """
        if kind is not None:
            self._pending += self._device.surplus(kind, 1)
        self._flood = kind

    def poll(self) -> float:
        """One turn; returns how many seconds may pass before the next is due."""
        events = self._events()
        was_hung_up, self.hung_up = self.hung_up, bool(events & select.POLLHUP)
        if self.hung_up:
            # Once only: a second time could throw away what the next reader says first.
            if not was_hung_up:
                self._reader_gone()
            return HANG_UP_CHECK_S
        if self._pump.keeps_time:
            # What is heard now is obeyed now, not at the moment of the turn before.
            self._pending += self._next_bytes()
        if events & select.POLLIN:
            self._hear()
        if not self._pending or self._pump.keeps_time:
            self._pending += self._next_bytes()
        if events & select.POLLOUT and self._pending:
            self._write()
        return self._wait_s()

    @property
    def wants_to_write(self) -> bool:
        return bool(self._pending)

    def _events(self) -> int:
        self._watch.register(self._master, select.POLLIN | select.POLLOUT)
        return next((events for _, events in self._watch.poll(0)), 0)

    def _reader_gone(self) -> None:
        self._device.hang_up()
        self._pump.forget()
        self._pending = b""
        # What the last reader left unread lies on the slave's side, and only there can it
        # be thrown away; what it said last lies on this one.
        with contextlib.suppress(OSError, termios.error):
            slave = os.open(self.name, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
            termios.tcflush(slave, termios.TCIFLUSH)
            os.close(slave)
            termios.tcflush(self._master, termios.TCIFLUSH)

    def _hear(self) -> None:
        with contextlib.suppress(BlockingIOError, OSError):
            data = os.read(self._master, 4096)
            if not self._silent:
                self._device.feed(data)

    def _next_bytes(self) -> bytes:
        if self._silent:
            return b""
        noise, self._noise = self._noise, b""
        due = noise or self._pump.next_bytes()
        if self._flood is not None and not self._pending:
            due += self._device.surplus(self._flood, FLOOD_BYTES)
        return due

    def _write(self) -> None:
        with contextlib.suppress(BlockingIOError, OSError):
            self._pending = self._pending[os.write(self._master, self._pending) :]

    def _wait_s(self) -> float:
        if self._silent:
            return SILENT_CHECK_S
        if self._flood is not None and not self._pending:
            return 0.0
        return self._pump.wait_s(bool(self._pending))
