"""The one thread that reads a port: it reads, stamps and hands on, and does nothing else."""

from __future__ import annotations

import threading

from daq.acquire.links.clock import Clock
from daq.acquire.links.inbox import Chunk, Ended, Inbox
from daq.link.base import Link


class Reader:
    """Reads a link into an inbox from the moment it is made until `close`.

    What ends the reading before that (RigError for a port's fault or a full inbox) goes into
    the inbox too, behind the bytes that came before it.
    """

    def __init__(self, link: Link, clock: Clock, inbox: Inbox, number: int = 0) -> None:
        self._link = link
        self._clock = clock
        self._inbox = inbox
        self._number = number
        self._closing = threading.Event()
        self._thread = threading.Thread(target=self._run, name="rig reader", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Ends the reading and waits for the thread to be gone."""
        self._closing.set()
        self._thread.join()

    def _run(self) -> None:
        try:
            while not self._closing.is_set():
                data = self._link.read()
                if data:
                    self._inbox.put(Chunk(self._clock.now_ns(), data, self._number))
        except Exception as fault:  # whatever it is, it belongs to whoever takes
            self._inbox.end(Ended(self._number, fault))
