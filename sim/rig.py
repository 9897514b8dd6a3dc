"""The whole simulated rig: a bench, its controllers, and a pty for each of them."""

from __future__ import annotations

import select
from collections.abc import Mapping

import numpy as np

from sim.bench import Bench
from sim.chip_board import ChipBoard
from sim.controller import Controller, World
from sim.delays import Delays
from sim.device import parked_carriage
from sim.limits import Refusal
from sim.link_folder import LinkFolder
from sim.options import Options
from sim.pace import Pace
from sim.part import Part, parts
from sim.port import PtyPort
from sim.pump import FreeRun, Paced, Pump
from sim.speakers import SPEAKERS


class BadOrder(Exception):
    """An order that cannot be done; the message is the answer's `why`."""


class Rig:
    """One thread turns it all: nothing here is shared, so nothing is locked."""

    def __init__(self, asked: Options) -> None:
        self.bench = Bench(asked.seed, asked.faults, asked.spec)
        self._asked = asked
        self._pace = _pace(asked)
        self._parts = parts(asked.links, asked.drive == "hand")
        self._carriage = parked_carriage(self.bench)
        self._epoch = 0
        self._devices: dict[str, Controller] = {}
        self._ports: dict[str, PtyPort] = {}
        self._folder = None if asked.link_folder is None else LinkFolder(asked.link_folder)
        self._names: dict[str, str] = {}
        self._plug_in(self._parts)
        self.running = True

    @property
    def device(self) -> Controller:
        """The controller that drives, or counts, the carriage."""
        return self._devices[self._parts[0].name]

    @property
    def by_hand(self) -> bool:
        return self._parts[0].by_hand

    @property
    def speaks(self) -> Mapping[str, str]:
        """By link, its protocol."""
        return self._asked.speaks

    @property
    def port_names(self) -> dict[str, str]:
        """By link, the carriage's first. BadOrder while a cable is out."""
        for part in self._parts:
            self.port(part.name)
        return {part.name: self._names[part.name] for part in self._parts}

    @property
    def port_name(self) -> str:
        """The port with the sensor."""
        return self.port_names[self._parts[-1].name]

    def controller(self, link: str | None = None) -> Controller:
        """The sensor's, or that of the named link. BadOrder while its cable is out."""
        self.port(link)
        return self._devices[link or self._parts[-1].name]

    def port(self, link: str | None = None) -> PtyPort:
        """The sensor's, or that of the named link. BadOrder while its cable is out."""
        port = self._ports.get(self._known(link or self._parts[-1].name))
        if port is None:
            raise BadOrder("the cable is pulled; plug it in first")
        return port

    def pull(self, link: str | None = None) -> None:
        """The cable comes out, or all of them."""
        for name in [self._known(link)] if link else list(self.port_names):
            self.port(name)
            self._unplug(name)

    def plug(self) -> None:
        """Every cable that is out goes back in: a new port, and a controller that starts
        afresh, a carriage at its end stop."""
        out = tuple(part for part in self._parts if part.name not in self._ports)
        if not out:
            raise BadOrder("the cable is in already")
        self._epoch += 1
        self._plug_in(out)

    def push(self, to_mm: float, seconds: float, y_mm: float) -> None:
        """A hand moves the carriage. BadOrder where a motor does."""
        if not self.by_hand:
            raise BadOrder("this rig has a motor; start it with --drive hand to push")
        try:
            self.device.push(to_mm, seconds, y_mm)
        except Refusal as reason:
            raise BadOrder(str(reason)) from None

    def quit(self) -> None:
        self.running = False

    def poll(self) -> float:
        """Lets the ports do what they have to do; seconds until they want to be polled again."""
        if self._pace is not None:
            self._pace.turn()
        return min((port.poll() for port in self._ports.values()), default=0.05)

    def close(self) -> None:
        """Pulls what is still in."""
        for name in list(self._ports):
            self._unplug(name)

    def orders_wait(self, orders_fd: int, wait_s: float) -> bool:
        """Whether an order has come, or else that wait_s is over or a port has work."""
        heard = [port for port in self._ports.values() if not port.hung_up]
        write = [port.fileno() for port in heard if port.wants_to_write]
        read = [orders_fd, *(port.fileno() for port in heard)]
        readable, _, _ = select.select(read, write, [], wait_s)
        return orders_fd in readable

    def _known(self, link: str) -> str:
        names = [part.name for part in self._parts]
        if link not in names:
            raise BadOrder(f"found link {link!r}; allowed: {', '.join(names)}")
        return link

    def _unplug(self, link: str) -> None:
        if self._folder is not None:
            self._folder.remove(link)
        self._ports.pop(link).close()

    def _plug_in(self, plugged: tuple[Part, ...]) -> None:
        now_s = self._pace.now_s if self._pace is not None else 0.0
        if any(part.drives for part in plugged):
            self._carriage.park(now_s)
        if self._pace is None:
            self.bench.climate.settle()
        world = World(self.bench, self._carriage, self._epoch, now_s)
        for part in plugged:
            device = self._controller_of(world, part)
            self._devices[part.name] = device
            port = self._ports[part.name] = PtyPort(device, self._pump(device))
            self._names[part.name] = (
                self._folder.point(part.name, port.name) if self._folder else port.name
            )
        # A dictionary keeps its first order; the carriage must have its turn before the sensor.
        self._ports = {p.name: self._ports[p.name] for p in self._parts if p.name in self._ports}

    def _controller_of(self, world: World, part: Part) -> Controller:
        if self._asked.firmware is not None:
            return ChipBoard(world, part, self._asked.firmware)
        return SPEAKERS[self._asked.speaks[part.name]].make(world, part)

    def _pump(self, device: Controller) -> Pump:
        if self._pace is None:
            return FreeRun(device)
        seed = [self._asked.seed, 9, self._epoch, int(device.part.drives)]
        most_s = 1e-3 * self._asked.faults.arrival_jitter_ms
        return Paced(device, self._pace, Delays(most_s, np.random.default_rng(seed)))


def _pace(asked: Options) -> Pace | None:
    """A rig of two clocks keeps the host's time, by which they are compared; so does one that is
    asked to be in real time."""
    if asked.pace is None:
        return None
    # Clocks that are had from arrivals want these to the millisecond. Else bytes come in parcels,
    # as an adapter sends them, and the machine has its hands free.
    by_arrival = asked.links == 2 or asked.faults.arrival_jitter_ms > 0.0
    every_s = 0.001 if by_arrival else 0.005
    return Pace(asked.pace, waits=asked.links == 1 and asked.pace > 1.0, every_s=every_s)
