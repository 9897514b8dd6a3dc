"""A thousand scans read again: how much sooner by two processes, and in how much memory."""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from daq.archive.engines.cluster import cluster
from daq.archive.engines.engine import GROUP, Engine
from daq.archive.engines.readers import readers
from daq.archive.one import Group, read_group
from daq.archive.reading import Reading

from ..daq.archive.again.history import History, scan_both_states, spoilt

dask: Any = pytest.importorskip("dask")
distributed: Any = pytest.importorskip("distributed")

#: So many scans; fewer by the environment, to try it out.
SCANS = int(os.environ.get("NECKFORM_SCANS", "1000"))
#: One process and two take turns, for a machine's pace comes and goes: so many parts each. Not the
#: cluster: beside its threads a pool may not fork, and would begin anew for each part.
PARTS = 5
#: How many times sooner than one process, on two cores.
POOL, CLUSTER = 1.9, 1.5
#: What the memory of all processes together may grow by from a tenth of the way to its end, MB.
MOST_GROWN_MB = 30.0


class Serial:
    """One process, one scan after another."""

    def map(self, groups: Iterable[Group]) -> Iterator[list[Reading]]:
        yield from map(read_group, groups)


@dataclass
class Run:
    """What one engine came to. s: seconds it took; mb: memory after each group.

    readings: of each its url and a digest: forked workers would hold all that is kept here too.
    """

    s: float = 0.0
    faults: int = 0
    readings: list[tuple[str, str]] = field(default_factory=list)
    mb: list[float] = field(default_factory=list)

    def add(self, engine: Engine, groups: Sequence[Group]) -> None:
        began = time.monotonic()
        for found in engine.map(groups):
            self.faults += sum(one.outcome == "fault" for one in found)
            self.readings += [(one.url, _digest(one)) for one in found]
            self.mb.append(_all_mb(os.getpid()))
        self.s += time.monotonic() - began

    @property
    def grown_mb(self) -> float:
        return max(self.mb[len(self.mb) // 10 :]) - self.mb[len(self.mb) // 10]


@pytest.mark.campaign
def test_a_thousand_scans(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    groups = _thousand(tmp_path).groups(GROUP)
    runs = {"serial": Run(), "pool": Run(), "cluster": Run()}
    for part in range(PARTS):
        runs["serial"].add(Serial(), groups[part::PARTS])
        runs["pool"].add(readers(2), groups[part::PARTS])
    with (
        # a worker's own profiler keeps an hour of what it saw
        dask.config.set({"distributed.worker.profile.enabled": False}),
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0"
        ) as started,
        cluster(started.scheduler_address) as many,
    ):
        runs["cluster"].add(many, groups)
    sooner = {name: runs["serial"].s / run.s for name, run in runs.items()}
    with capfd.disabled():
        for name, run in runs.items():
            sys.stdout.write(
                f"\n{name}: {run.s:.1f} s, {sooner[name]:.2f} times, all processes "
                f"{run.mb[len(run.mb) // 10]:.0f} to {max(run.mb):.0f} MB"
            )
    serial = sorted(runs["serial"].readings)
    assert len(serial) == SCANS + 4
    for run in runs.values():
        assert run.faults == 4
        assert sorted(run.readings) == serial
        assert run.grown_mb < MOST_GROWN_MB
    assert sooner["pool"] > POOL
    assert sooner["cluster"] > CLUSTER


def _thousand(folder: Path) -> History:
    """Ten scans a job, both states by turns, and four spoilt files."""
    (folder / "real").mkdir()
    scan_both_states(folder / "real")
    history = History(folder / "workshop", folder / "real")
    scans = [
        history.scan(1 + n % 10, "strung" if n % 2 else "unstrung", 1 + n // 10)
        for n in range(SCANS)
    ]
    history.index([*scans, *spoilt(history, 1).values()])
    return history


def _digest(reading: Reading) -> str:
    """Of all that was read, to the last bit."""
    return sha256(json.dumps(asdict(reading)).encode()).hexdigest()


def _all_mb(process: int) -> float:
    """Resident memory of a process and all that came of it."""
    try:
        pages = int(Path(f"/proc/{process}/statm").read_text().split()[1])
        tasks = Path(f"/proc/{process}/task").glob("*/children")
        children = [int(child) for task in tasks for child in task.read_text().split()]
    except OSError:
        # it has just ended
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6 + sum(map(_all_mb, children))
