"""The whole simulated rig: a bench, a device and its pty."""

from __future__ import annotations

import select

from sim.bench import Bench
from sim.device import Device
from sim.faults import Faults
from sim.port import PtyPort
from sim.rail import RigSpec


class BadOrder(Exception):
    """An order that cannot be done; the message is the answer's `why`."""


class Rig:
    """One thread turns it all: nothing here is shared, so nothing is locked."""

    def __init__(self, seed: int, faults: Faults, realtime: bool) -> None:
        self.bench = Bench(seed, faults, RigSpec())
        self.device = Device(self.bench)
        self._realtime = realtime
        self._port: PtyPort | None = PtyPort(self.device, realtime)
        self._epoch = 0
        self.running = True

    @property
    def port(self) -> PtyPort:
        """BadOrder while the cable is out."""
        if self._port is None:
            raise BadOrder("the cable is pulled; plug it in first")
        return self._port

    @property
    def plugged(self) -> bool:
        return self._port is not None

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
        self.running = False

    def poll(self) -> float:
        """Lets the port do what it has to do; seconds until it wants to be polled again."""
        return self._port.poll() if self._port is not None else 0.05

    def orders_wait(self, orders_fd: int, wait_s: float) -> bool:
        """Whether an order has come, or else that wait_s is over or the port has work."""
        read: list[int] = [orders_fd]
        write: list[int] = []
        if self._port is not None and not self._port.hung_up:
            read.append(self._port.fileno())
            write = [self._port.fileno()] if self._port.wants_to_write else []
        readable, _, _ = select.select(read, write, [], wait_s)
        return orders_fd in readable
