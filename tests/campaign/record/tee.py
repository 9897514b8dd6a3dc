"""A piece of cable that remembers what went through it, and when."""

from __future__ import annotations

import fcntl
import os
import select
import termios
import threading
import time
import tty
from typing import Self

PIECE = 4096


class Tee:
    """A port in front of another one.

    It holds its own far end open, so that what whoever had the port did not read stays to be
    counted when that one is gone.
    """

    def __init__(self, port: str) -> None:
        self._rig = os.open(port, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self._rig)
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        self.port = os.ttyname(self._slave)
        self._came = bytearray()
        self._log: list[tuple[float, int]] = []
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, name="tee")
        self._thread.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._stop()
        for fd in (self._rig, self._master, self._slave):
            os.close(fd)

    @property
    def came(self) -> bytes:
        """All that was handed on from the rig."""
        return bytes(self._came)

    def unread(self) -> int:
        """How much of it nobody has read. Whoever had the port is gone; nothing more is handed on,
        and what lies there is read here."""
        self._stop()
        os.set_blocking(self._slave, False)
        count = 0
        while select.select([self._slave], [], [], 0.05)[0]:
            count += len(os.read(self._slave, PIECE))
        return count

    def came_at_s(self, place: int) -> float:
        """When the byte at this place was handed on, monotonic."""
        return next((at_s for at_s, total in self._log if total > place), time.monotonic())

    def _stop(self) -> None:
        self._ending.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._ending.is_set():
            watched = [self._master, self._rig] if self._has_room() else [self._master]
            for fd in select.select(watched, [], [], 0.005)[0]:
                data = os.read(fd, PIECE)
                if fd == self._master:
                    os.write(self._rig, data)
                    continue
                self._came += data
                self._log.append((time.monotonic(), len(self._came)))
                os.write(self._master, data)

    def _has_room(self) -> bool:
        """Nothing is handed on while much lies unread: what is on the way must be little."""
        unread = int.from_bytes(fcntl.ioctl(self._slave, termios.FIONREAD, bytes(4)), "little")
        return unread < PIECE // 2
