"""python -m sim --seed N: prints {"port": ...}, then obeys JSON lines on standard input."""

from __future__ import annotations

import argparse
import contextlib
import json
import sys

from sim.faults import Faults
from sim.rig import Rig
from sim.serve import serve


def main() -> None:
    asked = _arguments()
    faults = Faults.none() if asked.faults == "none" else Faults()
    rig = Rig(asked.seed, faults, asked.realtime)
    _say(json.dumps({"port": rig.port_name}))
    # Whoever started it has gone, or wants it to: either way there is nobody to tell.
    with contextlib.suppress(KeyboardInterrupt, BrokenPipeError):
        serve(rig, sys.stdin.fileno(), _say)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m sim", description="A rig made of software.")
    parser.add_argument("--seed", type=int, default=1, help="which instrument and rig")
    parser.add_argument("--realtime", action="store_true", help="no faster than a real rig")
    parser.add_argument("--faults", choices=["default", "none"], default="default")
    return parser.parse_args()


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
