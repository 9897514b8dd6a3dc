"""From a scan file to fret tops: how long it takes, how much memory, and how both grow."""

from __future__ import annotations

import json
import subprocess
import sys
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest

from daq.cli.main import main
from daq.demo.bench import Bench, software_rig

#: What a reading may take on one core, s, and the whole process, MB.
MOST_S, MOST_MB = 0.5, 200.0
READING = """
import json, resource, sys, time
from pathlib import Path

from analysis.neck.shape import unstrung_shape
from daq.files.instrument import load_instrument
from daq.reading.neck import read_scan_neck
from daq.record.scan import read_scan

instrument = load_instrument(Path(sys.argv[2])).record


def read():
    began = time.process_time()
    scan = read_scan(Path(sys.argv[1]))
    unstrung_shape(read_scan_neck(scan, instrument, None).neck, instrument)
    return time.process_time() - began, sum(one.samples.t_us.size for one in scan.passes)


seconds, samples = min(read() for _ in range(5))
megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
print(json.dumps({"s": seconds, "samples": samples, "mb": megabytes}))
"""


@pytest.mark.campaign
def test_a_scan_is_read_in_half_a_second(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    usual, dense = (
        _read(software_rig(4, "--set", f"rate_hz={rate}"), tmp_path / str(rate), capfd)
        for rate in (400, 1600)
    )
    with capfd.disabled():
        sys.stdout.write(f"\n{usual}\n{dense}\n")
    assert usual["samples"] > 200_000
    assert usual["s"] < MOST_S
    assert usual["mb"] < MOST_MB
    # what each sample adds is no more than its share of the usual scan
    assert (dense["s"] - usual["s"]) / (dense["samples"] - usual["samples"]) < (
        usual["s"] / usual["samples"]
    )


def _read(
    rig: AbstractContextManager[Bench], folder: Path, capfd: pytest.CaptureFixture[str]
) -> dict[str, Any]:
    with rig as bench:
        files = bench.do("files", folder=str(folder))
        bench.do("state", state="unstrung")
        bench.do("place", what="neck")
        for line in (
            f"job new one --instrument {files['instrument']}",
            f"scan one --rig {files['rig']} --state unstrung --yes",
        ):
            assert main(["--workshop", str(folder), *line.split()]) == 0
            capfd.readouterr()
    (scan,) = (folder / "jobs/one/scans").glob("*.h5")
    command = [sys.executable, "-c", READING, str(scan), str(files["instrument"])]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    document: dict[str, Any] = json.loads(done.stdout)
    return document
