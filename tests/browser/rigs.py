"""Rigs and jobs for the page: a sensor of any speed, a twelve-string."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from daq.cli.main import main
from daq.demo.bench import Bench

HERE = Path(__file__).parent
FEEDER = HERE.parent / "campaign/record/feeder.py"
FAST_RIG = """\
name: fast-rail
links:
  rig: {{port: {port}, baud: 460800, protocol: line}}
carriage:
  link: rig
  drive: motor
  mm_per_count: 0.005
  travel_mm: [0, 640]
  speed_mm_s: 25
sensor:
  link: rig
  kind: contact
  mm_per_count: 0.001
  rate_hz: {rate_hz}
  tip_radius_mm: 1.0
pads:
  - {{from_mm: 4, to_mm: 16}}
  - {{from_mm: 600, to_mm: 614}}
"""


@contextmanager
def fast_sensor(folder: Path, rate_hz: int, seconds: float) -> Iterator[Path]:
    """The rig file of a rig that streams at an exact rate for so long, once it is watched."""
    words = ["line", str(rate_hz), str(round(rate_hz * seconds))]
    with subprocess.Popen(
        [sys.executable, str(FEEDER), *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        try:
            assert process.stdout is not None
            file = folder / "fast.yaml"
            port = process.stdout.readline().strip()
            file.write_text(FAST_RIG.format(port=port, rate_hz=rate_hz))
            yield file
        finally:
            process.kill()


def make_twelve(folder: Path) -> Path:
    """A workshop with the job twelve: 12 strings by 24 frets, both states scanned; its root."""
    with subprocess.Popen(
        [sys.executable, "-P", str(HERE / "twelve_rig.py"), "--seed", "5"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        try:
            return _scanned(folder, Bench(process), "twelve")
        finally:
            process.terminate()


def _scanned(folder: Path, bench: Bench, job: str) -> Path:
    root, rig = folder / "workshop", str(folder / "rig.yaml")

    def does(*words: str) -> None:
        assert main(["--workshop", str(root), *words]) == 0

    bench.do("files", folder=str(folder))
    does("job", "new", job, "--instrument", str(folder / "instrument.yaml"))
    bench.do("place", what="straightedge")
    does("calibrate", "rail", "--rig", rig, "--reference", "straightedge")
    bench.do("place", what="neck")
    for state in ("strung", "unstrung"):
        bench.do("state", state=state)
        does("scan", job, "--rig", rig, "--state", state)
    return root
