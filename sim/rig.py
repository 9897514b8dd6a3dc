"""The whole simulated rig: a bench, a device, its pty, and a line of orders from a person."""

from __future__ import annotations

import os
import select
from collections.abc import Callable

from sim.bench import Bench
from sim.device import Device
from sim.faults import Faults
from sim.orders import BadOrder, answer
from sim.port import PtyPort
from sim.rail import RigSpec


class Rig:
    """One thread turns it all: nothing here is shared, so nothing is locked."""

    def __init__(self, seed: int, faults: Faults, realtime: bool) -> None:
        self.bench = Bench(seed, faults, RigSpec())
        self.device = Device(self.bench)
        self._realtime = realtime
        self._port: PtyPort | None = PtyPort(self.device, realtime)
        self._epoch = 0
        self._running = True

    @property
    def port(self) -> PtyPort:
        """BadOrder while the cable is out."""
        if self._port is None:
            raise BadOrder("the cable is pulled; plug it in first")
        return self._port

    @property
    def port_name(self) -> str:
        return self.port.name

    def pull(self) -> None:
        """The cable comes out."""
        self.port.close()
        self._port = None

    def plug(self) -> None:
        """The cable goes back in: a new port, and a rig that starts afresh at its end stop."""
        if self._port is not None:
            raise BadOrder("the cable is in already")
        self._epoch += 1
        self.device = Device(self.bench, self._epoch)
        self._port = PtyPort(self.device, self._realtime)

    def quit(self) -> None:
        self._running = False

    def serve(self, orders_fd: int, say: Callable[[str], None]) -> None:
        """Runs until told to quit or the orders end."""
        tail = b""
        wait_s = 0.0
        while self._running:
            if self._orders_wait(orders_fd, wait_s):
                data = os.read(orders_fd, 65_536)
                *lines, tail = (tail + data).split(b"\n")
                self._running = bool(data)
                for line in lines:
                    say(answer(self, line.decode("utf-8", "replace")))
            wait_s = self._port.poll() if self._port is not None else 0.05
        if self._port is not None:
            self.pull()

    def _orders_wait(self, orders_fd: int, wait_s: float) -> bool:
        """Whether an order has come, or else that wait_s is over or the port has work."""
        read: list[int] = [orders_fd]
        write: list[int] = []
        if self._port is not None and not self._port.hung_up:
            read.append(self._port.fileno())
            write = [self._port.fileno()] if self._port.wants_to_write else []
        readable, _, _ = select.select(read, write, [], wait_s)
        return orders_fd in readable
