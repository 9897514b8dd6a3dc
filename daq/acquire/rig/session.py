"""A rig, owned, opened, greeted and quiet: ready for work."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from calibration.clocks.two import LONGEST_GAP_S
from daq.acquire.links.clock import Clock
from daq.acquire.links.controller import who_is_on
from daq.acquire.links.rig_faults import RigRefused
from daq.acquire.links.seen import swapped
from daq.acquire.links.sink import NullSink
from daq.acquire.rig.owner import owned
from daq.acquire.rig.rig import Rig
from daq.acquire.rig.still import watch
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.files.rig_link import Link as LinkEntry
from daq.link.base import Link
from daq.link.serial_port import SerialLink
from daq.wire.records import SampleBlock

OpenLink = Callable[[str, int, str], Link]
"""Port, baud and framing to an open port."""
#: So much of the rig's time tells which of two links counts and which reads.
GLANCE_S = 0.1
#: A carriage on a link of its own is heard of at least twice in the longest gap that is bridged.
LEAST_CARRIAGE_HZ = 2.0 / LONGEST_GAP_S


@contextmanager
def rig_session(
    rig_file: RigFile, open_link: OpenLink = SerialLink, *, clock: Clock | None = None
) -> Iterator[Rig]:
    """The rig of a rig file until the block ends, whatever stream an earlier program left on
    stopped. What goes over its links is kept only where `Rig.keeping` says so.

    Raises RigError where another process owns it, a port does not open or a controller does not
    answer; InputError where the rig file asks for more than the rig can do, or has its two links
    the wrong way round.
    """
    _check_ports(rig_file)
    with ExitStack() as owning:
        ports = [_Port(link, open_link) for link in rig_file.used_links]
        for port in ports:
            owning.callback(port.let_go)
            port.take()
        rig = Rig(
            _opened(ports),
            rig_file,
            NullSink(),
            reopen=lambda number: ports[number].open_again(),
            clock=clock,
        )
        try:
            rig.hello()
            with suppress(RigRefused):  # it may refuse to stop what does not run
                rig.stop()
            _check_rates(rig_file, rig)
            _check_roles(rig_file, rig)
            yield rig
        finally:
            rig.close()


class _Port:
    """A port of the rig file, owned: plugged in again its name may lead to another device."""

    def __init__(self, entry: LinkEntry, open_link: OpenLink) -> None:
        self._entry = entry
        self._open_link = open_link
        self._owned = ExitStack()

    def take(self) -> None:
        """Becomes its owner. Raises RigError where another process is."""
        self._owned.enter_context(owned(self._entry.port))

    def let_go(self) -> None:
        """Owns it no longer."""
        self._owned.close()

    def open(self) -> Link:
        """The port, open. Raises RigError."""
        return self._open_link(self._entry.port, self._entry.baud, self._entry.framing)

    def open_again(self) -> Link:
        """The same after it was lost, whatever device it is now. Raises RigError."""
        self.let_go()
        self.take()
        return self.open()


def _check_ports(rig_file: RigFile) -> None:
    """Two names may lead to one port. Raises InputError."""
    ports = [link.port for link in rig_file.used_links]
    if len({Path(port).resolve() for port in ports}) < len(ports):
        raise InputError(
            f"{rig_file.name}: links {' and '.join(rig_file.link_names)}: found one port under two "
            f"names, {' and '.join(ports)}; allowed a port of its own for each"
        )


def _opened(ports: list[_Port]) -> list[Link]:
    """All of them, or none is left open."""
    with ExitStack() as closing:
        links = []
        for port in ports:
            links.append(port.open())
            closing.callback(links[-1].close)
        closing.pop_all()
    return links


def _check_rates(rig_file: RigFile, rig: Rig) -> None:
    """A sensor must be as fast as it is asked to be; a carriage of its own, often enough heard of
    for its places to be told between. Raises InputError."""
    sensor, carriage = rig.hellos[0], rig.hellos[-1]
    if rig_file.sensor.rate_hz > sensor.max_rate_hz:
        raise InputError(
            f"{rig_file.name}: sensor.rate_hz: found {rig_file.sensor.rate_hz:g}; allowed at "
            f"most {sensor.max_rate_hz:g}, the highest rate of {sensor.device_id}"
        )
    if len(rig.hellos) > 1 and carriage.max_rate_hz < LEAST_CARRIAGE_HZ:
        raise InputError(
            f"{rig_file.name}: carriage.link: found {carriage.max_rate_hz:g} Hz, the highest rate "
            f"of {carriage.device_id}; allowed {LEAST_CARRIAGE_HZ:g} Hz or more"
        )


def _check_roles(rig_file: RigFile, rig: Rig) -> None:
    """Cables change places easily. Raises InputError where the carriage's controller is on the
    sensor's link."""
    if len(rig_file.link_names) == 1:
        return
    pieces = watch(rig, rig_file.sensor.rate_hz, GLANCE_S)
    sensor, carriage = (
        SampleBlock.concatenate(heard.batch.samples for heard in pieces if heard.link == link)
        for link in (0, 1)
    )
    if swapped(sensor, carriage):
        raise InputError(
            f"{rig_file.name}: the ports of links {' and '.join(rig_file.link_names)} are swapped: "
            f"{who_is_on(rig_file, 0)} counts and reads nothing; exchange the two ports in the "
            "rig file"
        )
