"""python -m sim --seed N: prints {"port": ..., "ports": {...}}, then obeys JSON lines on
standard input.

`port` is the sensor's; `ports` has one for each link, `rig` alone or `carriage` and `sensor`.
"""

from __future__ import annotations

import contextlib
import json
import sys

from sim.options import options
from sim.rig import Rig
from sim.serve import serve


def main() -> None:
    rig = Rig(options())
    _say(json.dumps({"port": rig.port_name, "ports": rig.port_names}))
    # Whoever started it has gone, or wants it to: either way there is nobody to tell.
    with contextlib.suppress(KeyboardInterrupt, BrokenPipeError):
        serve(rig, sys.stdin.fileno(), _say)


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
