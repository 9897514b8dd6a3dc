"""The program as a person meets it: start-up, the demo, a scan file read to tops."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

from analysis.neck.shape import unstrung_shape
from daq.files.instrument import load_instrument
from daq.reading.calibrated import calibrations_for
from daq.reading.neck import read_scan_neck, rig_of, scan_profiles
from daq.record.scan import read_scan

from .table import Part, rounded, times
from .timing import children_cpu_s, interleaved

DEMOS, STARTS = 3, 20
ROOT = Path(__file__).parents[2]
PROGRAM = (sys.executable, "-c", "from daq.cli.main import run; run()")


def measure() -> Iterator[Part]:
    """Start-up first; the demo's scan is what is read."""
    yield _start_up()
    with tempfile.TemporaryDirectory() as folder:
        where = Path(folder)
        took = [_ran("demo", "--folder", str(where / str(k)), "--seed", "1") for k in range(DEMOS)]
        wall_s, cpu_s = (median(part) for part in zip(*took, strict=True))
        yield Part(
            "The whole job: `neckform demo`",
            f"Calibrated, scanned, planned, filed, verified, strung, reported; {DEMOS} runs. CPU "
            "is that of all its processes, the simulated rig's too.",
            ("what", "wall s", "CPU s"),
            [["neckform demo", rounded(wall_s), rounded(cpu_s)]],
        )
        yield _reading(where / "0")


def _start_up() -> Part:
    bare = (sys.executable, "-c", "pass")
    ways: dict[str, Callable[[], tuple[float, float]]] = {
        "python that does nothing": lambda: _of(bare),
        "python that imports numpy": lambda: _of((sys.executable, "-c", "import numpy")),
        "neckform --help": lambda: _ran("--help"),
        "neckform job new --help": lambda: _ran("job", "new", "--help"),
        "neckform law --help": lambda: _ran("law", "--help"),
        "neckform tops --help": lambda: _ran("tops", "--help"),
    }
    took: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
    for _ in range(STARTS):
        for name, way in ways.items():
            took[name].append(way())
    rows = []
    for name, runs in took.items():
        wall_s, cpu_s = (median(part) for part in zip(*runs, strict=True))
        rows.append([name, rounded(1e3 * wall_s), rounded(1e3 * cpu_s)])
    says = f"A process from its start to its end, {STARTS} runs of each."
    return Part("Start-up", says, ("what", "wall ms", "CPU ms"), rows)


def _ran(*words: str) -> tuple[float, float]:
    return _of((*PROGRAM, *words))


def _of(command: tuple[str, ...]) -> tuple[float, float]:
    """Wall and CPU seconds."""
    used, began = children_cpu_s(), time.perf_counter()
    subprocess.run(
        command,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=True,
        capture_output=True,
    )
    return time.perf_counter() - began, children_cpu_s() - used


def _reading(demo: Path) -> Part:
    path = demo / "workshop/jobs/demo/scans/002-unstrung.h5"
    instrument = load_instrument(demo / "instrument.yaml").record
    scan = read_scan(path)
    samples = sum(len(one.samples) for one in scan.passes)
    calibrations = calibrations_for(scan, None)
    ways: dict[str, Callable[[], object]] = {
        "load": lambda: read_scan(path),
        "load and correct": lambda: scan_profiles(read_scan(path), rig_of(scan), calibrations),
        "load, correct, tops": lambda: unstrung_shape(
            read_scan_neck(read_scan(path), instrument, None).neck, instrument
        ),
    }
    took = interleaved(ways)
    load = took["load"].wall_s
    rows = [
        [
            name,
            rounded(1e3 * one.wall_s),
            rounded(1e3 * one.cpu_s),
            rounded(250e3 / samples * 1e3 * one.cpu_s),
            times(one.wall_s / load),
        ]
        for name, one in took.items()
    ]
    return Part(
        "A scan file to fret tops",
        f"{samples:,} samples in {len(scan.passes)} passes.",
        ("what", "wall ms", "CPU ms", "CPU ms for 250,000", "of loading"),
        rows,
    )
