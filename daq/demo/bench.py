"""The software rig as a process of its own: a port to open, and a person's hands at the bench."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import IO, Any, cast

from daq.errors import RigError

HAND_GAIN, HAND_UM = 0.88, 1.0
"""The hand at this bench takes off less than it means to, give or take so much (rms)."""
STOPPED = "the software rig has stopped; start it again"


class Bench:
    """What a person does to the rig and the instrument. It never tells what the truth is."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process
        self.port = str(self._read()["port"])

    def do(self, order: str, **details: object) -> dict[str, Any]:
        """Has something done. Raises RigError where the simulator refuses or is gone."""
        orders = cast(IO[str], self._process.stdin)
        try:
            orders.write(json.dumps({"do": order, **details}) + "\n")
            orders.flush()
        except BrokenPipeError as error:
            raise RigError(STOPPED) from error
        answer = self._read()
        if not answer.get("ok"):
            raise RigError(f"the software rig refused {order!r}: {answer.get('why')}")
        return answer

    def file_frets(self, cuts: Sequence[object]) -> None:
        """As a plan's `cuts` say, by this bench's hand. Raises as `do`."""
        self.do("cut", gain=HAND_GAIN, hand_um=HAND_UM, cuts=cuts)

    def _read(self) -> dict[str, Any]:
        line = cast(IO[str], self._process.stdout).readline()
        if not line:
            raise RigError(STOPPED)
        answer = json.loads(line)
        return cast(dict[str, Any], answer)


@contextmanager
def software_rig(seed: int, *options: str) -> Iterator[Bench]:
    """A running software rig with these options; it is gone when the block ends.

    In a session of its own, so that Ctrl-C does not end the rig before it could be halted; and
    without the current folder on its path, where anything might be called sim.
    """
    process = subprocess.Popen(
        [sys.executable, "-P", "-m", "sim", "--seed", str(seed), *options],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    with process:
        try:
            yield Bench(process)
        finally:
            process.terminate()
