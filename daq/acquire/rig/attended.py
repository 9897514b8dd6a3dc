"""While a person is asked something, what a rig sends is taken all the same."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from daq.acquire.rig.rig import Rig


@contextmanager
def attended(rig: Rig) -> Iterator[None]:
    """A thread takes what comes until the block ends: some sensors send without being told, and
    a person may take an hour.

    The block must not use the rig. What goes wrong with the rig meanwhile is raised at its end.
    """
    over = threading.Event()
    faults: list[BaseException] = []

    def attend() -> None:
        try:
            while not over.is_set():
                rig.take_in()
        except BaseException as fault:  # whatever it is, it belongs to whoever asked
            faults.append(fault)

    thread = threading.Thread(target=attend, name="rig attended", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
    if faults:
        raise faults[0]
