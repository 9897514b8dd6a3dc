"""The rig's time where it follows the host's."""

from __future__ import annotations

import time


class Pace:
    """rate: rig seconds to one second of the host.

    At 1 the rig is in real time. At K everything happens K times as fast, for every
    controller alike: the host sees each device clock run K times as fast as its own
    (d host / d device = 1 / K), and a delay of 1 ms of the host's is K ms of the rig's.
    The rig's time stands still during one turn of the loop, so that all ports of it come to
    the same moment before any of them hears a new command.

    waits: a turn that takes long is time that the rig does not have, as when a surface is made
    or the machine is busy with others. Else the rig would owe its host minutes of samples by
    then, and answer commands behind them.

    every_s: from turn to turn.
    """

    longest_turn_s = 0.05

    def __init__(self, rate: float, *, waits: bool, every_s: float) -> None:
        self._rate = rate
        self._waits = waits
        self.every_s = every_s
        self._started_s = self._turned_s = time.monotonic()
        self.now_s = 0.0

    def turn(self) -> None:
        """Rig time comes up to the host's."""
        host_s = time.monotonic()
        if self._waits:
            self._started_s += max(0.0, host_s - self._turned_s - self.longest_turn_s)
        self._turned_s = host_s
        self.now_s = (host_s - self._started_s) * self._rate
