"""The loop of the simulated rig: its port on one side, a person's orders on the other."""

from __future__ import annotations

import os
from collections.abc import Callable

from sim.orders import answer
from sim.rig import Rig


def serve(rig: Rig, orders_fd: int, say: Callable[[str], None]) -> None:
    """Runs until the rig is told to quit or the orders end."""
    tail = b""
    wait_s = 0.0
    while rig.running:
        if rig.orders_wait(orders_fd, wait_s):
            data = os.read(orders_fd, 65_536)
            *lines, tail = (tail + data).split(b"\n")
            for line in lines:
                say(answer(rig, line.decode("utf-8", "replace")))
            if not data:
                rig.quit()
        wait_s = rig.poll()
    rig.close()
