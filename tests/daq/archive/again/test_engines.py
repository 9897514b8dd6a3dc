"""Whoever does the work: every reading is the one that this process comes to, to the last bit."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest

from daq.archive.beside import Beside
from daq.archive.engines import pool
from daq.archive.engines.cluster import Cluster, SchedulerLost, cluster
from daq.archive.engines.engine import Engine
from daq.archive.engines.readers import readers
from daq.archive.engines.versions import check_alike
from daq.archive.one import Group, Task
from daq.archive.reading import Reading
from daq.errors import InputError

from .conftest import ReadBefore

dask: Any = pytest.importorskip("dask")
distributed: Any = pytest.importorskip("distributed")


def as_json(readings: list[Reading]) -> list[str]:
    return sorted(json.dumps(asdict(one)) for one in readings)


def all_of(engine: Engine, groups: list[Group]) -> list[Reading]:
    return [one for readings in engine.map(groups) for one in readings]


@pytest.fixture(scope="module")
def scheduler(deadly: str) -> Iterator[str]:
    """A cluster of two processes, in which the killer can be read."""
    with (
        # gives a group up at once; the usual four workers would take long to die
        dask.config.set({"distributed.scheduler.allowed-failures": 0}),
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0"
        ) as started,
    ):
        yield started.scheduler_address


@pytest.mark.parametrize("forked", [True, False])
def test_a_pool_reads_what_one_process_does(
    serial: ReadBefore, monkeypatch: pytest.MonkeyPatch, forked: bool
) -> None:
    monkeypatch.setattr(pool, "_may_fork", lambda: forked)
    assert as_json(all_of(readers(2), serial.history.groups())) == as_json(serial.readings)


def test_the_engines_are_told_apart_by_nothing_but_a_real_difference(serial: ReadBefore) -> None:
    read = [one for one in serial.readings if one.outcome == "read"]
    assert len(read) == 6
    assert len({json.loads(one.document)["digest"] for one in read}) == 6


def with_killer(serial: ReadBefore, deadly: str) -> list[Group]:
    """Two groups, the killer between two scans of the first."""
    (one, other), (third, fourth) = serial.history.groups()[:2]
    return [(one, Task(deadly, Beside(), "way"), other), (third, fourth)]


def check_killed(found: list[Reading], serial: ReadBefore, deadly: str) -> None:
    bad = [one for one in found if one.url == deadly]
    assert len(bad) == 1
    assert bad[0].kind == "killed"
    assert bad[0].fault is not None
    assert deadly in bad[0].fault
    urls = {one.url for one in found} - {deadly}
    assert as_json([one for one in found if one.url != deadly]) == as_json(
        [one for one in serial.readings if one.url in urls]
    )
    assert len(found) == 5


def test_a_killed_worker_of_a_pool_costs_one_scan(serial: ReadBefore, deadly: str) -> None:
    check_killed(all_of(readers(2), with_killer(serial, deadly)), serial, deadly)


def test_a_cluster_reads_what_one_process_does(serial: ReadBefore, scheduler: str) -> None:
    with cluster(scheduler) as engine:
        assert as_json(all_of(engine, serial.history.groups())) == as_json(serial.readings)


def test_killed_workers_of_a_cluster_cost_one_scan(
    serial: ReadBefore, deadly: str, scheduler: str
) -> None:
    with cluster(scheduler) as engine:
        check_killed(all_of(engine, with_killer(serial, deadly)), serial, deadly)


def test_a_pool_takes_few_groups_ahead(serial: ReadBefore) -> None:
    taken = 0

    def groups() -> Iterator[Group]:
        nonlocal taken
        for task in serial.history.groups(1)[-4:] * 5:
            taken += 1
            yield task

    come = readers(2).map(groups())
    next(come)
    assert taken <= 4
    come.close()  # type: ignore[attr-defined]


def test_no_scheduler_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("daq.archive.engines.cluster.ANSWERS_S", 1.0)
    told = r"--scheduler tcp://127\.0\.0\.1:1: no Dask scheduler answers"
    with pytest.raises(InputError, match=told), cluster("tcp://127.0.0.1:1"):
        raise AssertionError


def test_a_scheduler_without_workers() -> None:
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=":0") as empty,
        pytest.raises(InputError, match="has no workers"),
        cluster(empty.scheduler_address),
    ):
        raise AssertionError


def test_a_scheduler_that_goes_away_is_told(serial: ReadBefore) -> None:
    class Lost:
        def add_done_callback(self, tell: Callable[[object], None]) -> None:
            tell(self)

        def result(self) -> None:
            raise distributed.client.FutureCancelledError("group", "scheduler-connection-lost")

    class Client:
        def submit(self, *_: object, **__: object) -> Lost:
            return Lost()

    with pytest.raises(SchedulerLost):
        all_of(Cluster(distributed, Client(), 2), serial.history.groups())


@pytest.mark.campaign
def test_a_scheduler_killed_in_mid_job(serial: ReadBefore, tmp_path: Path) -> None:
    told = tmp_path / "scheduler.json"
    scheduler, worker = (
        subprocess.Popen(
            [sys.executable, "-m", f"distributed.cli.{name}", *more, "--scheduler-file", told]
        )
        for name, more in (
            ("dask_scheduler", ["--port", "0", "--no-dashboard"]),
            ("dask_worker", ["--nthreads", "1", "--no-dashboard"]),
        )
    )
    try:
        address = _address_with_workers(told)
        lost = pytest.raises(InputError, match="was lost; what was read is kept")
        with lost, cluster(address) as engine:
            come = engine.map(serial.history.groups(1))
            next(come)
            scheduler.kill()
            list(come)
    finally:
        for process in (scheduler, worker):
            process.kill()
            process.wait()


def _address_with_workers(told: Path) -> str:
    """Of a scheduler that has written where it is, once it has a worker."""
    until = time.monotonic() + 60.0
    while not told.exists() and time.monotonic() < until:
        time.sleep(0.1)
    with distributed.Client(scheduler_file=str(told), set_as_default=False) as client:
        client.wait_for_workers(1, timeout=60)
        return str(client.scheduler.address)


def test_other_versions_are_told() -> None:
    here = {"neckform": "1 aa", "numpy": "2.0"}
    check_alike(here, {"tcp://a": here}, "tcp://s")
    with pytest.raises(InputError, match=r"worker tcp://b has numpy 1\.9; allowed 2\.0"):
        check_alike(here, {"tcp://a": here, "tcp://b": here | {"numpy": "1.9"}}, "tcp://s")
    with pytest.raises(InputError, match=r"has neckform none; allowed 1 aa"):
        check_alike(here, {"tcp://a": {}}, "tcp://s")
