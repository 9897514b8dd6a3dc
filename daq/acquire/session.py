"""A rig, owned, opened, greeted and quiet: ready for work."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from daq.acquire.owner import owned
from daq.acquire.rig import Hello, Rig
from daq.acquire.rig_faults import RigRefused
from daq.acquire.sink import Sink
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.link.base import Link
from daq.link.serial_port import SerialLink

OpenLink = Callable[[str, int], Link]


@contextmanager
def rig_session(
    rig_file: RigFile, sink: Sink, open_link: OpenLink = SerialLink
) -> Iterator[tuple[Rig, Hello]]:
    """The rig of a rig file until the block ends, whatever stream an earlier program left on
    stopped.

    Raises RigError where another process owns it, the port does not open or the rig does not
    answer; InputError where the rig file asks for more than the rig can do.
    """
    with owned(rig_file.link.port):
        rig = Rig(open_link(rig_file.link.port, rig_file.link.baud), rig_file, sink)
        try:
            hello = rig.hello()
            with suppress(RigRefused):  # it may refuse to stop what does not run
                rig.stop()
            _check_rate(rig_file, hello)
            yield rig, hello
        finally:
            rig.close()


def _check_rate(rig_file: RigFile, hello: Hello) -> None:
    if rig_file.sensor.rate_hz > hello.max_rate_hz:
        raise InputError(
            f"{rig_file.name}: sensor.rate_hz: found {rig_file.sensor.rate_hz:g}; allowed at most "
            f"{hello.max_rate_hz:g}, the highest rate of {hello.device_id}"
        )
