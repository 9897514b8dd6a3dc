"""A Dask cluster, by its scheduler's address."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from importlib import import_module
from queue import SimpleQueue
from typing import Any

from daq.archive.engines.killed import killed
from daq.archive.engines.versions import check_alike
from daq.archive.method import surroundings
from daq.archive.one import Group, read_group
from daq.archive.reading import Reading
from daq.errors import InputError
from daq.workshop.store import reason

#: A scheduler that is there answers in far less, s.
ANSWERS_S = 5.0
#: Groups given out for each thread of the cluster: one being read, one on its way.
AHEAD = 2
#: What goes wrong is told in one line, here, and not by these.
_LOGS = ("distributed", "distributed.client")


class SchedulerLost(Exception):
    """The scheduler went away while it had work of ours."""


class Cluster:
    """Gives groups to a cluster, few ahead of those that are done.

    A worker that dies is Dask's affair: it gives the worker's groups to others. Where it gives a
    group up because too many workers died over it, the group's scans are tried once more when
    all else is done, one at a time, so that it is known which of them it was.
    """

    def __init__(self, distributed: Any, client: Any, threads: int) -> None:
        self._distributed, self._client = distributed, client
        self._ahead = AHEAD * threads

    def map(self, groups: Iterable[Group]) -> Iterator[list[Reading]]:
        """See `Engine`. Raises SchedulerLost."""
        given_up: list[Group] = []
        for group, readings in self._done(iter(groups), self._ahead):
            if readings is None:
                given_up.extend((task,) for task in group)
            else:
                yield readings
        for group, readings in self._done(iter(given_up), 1):
            yield [killed(task) for task in group] if readings is None else readings

    def _done(
        self, groups: Iterator[Group], ahead: int
    ) -> Iterator[tuple[Group, list[Reading] | None]]:
        """Groups with their readings, None where Dask gave them up."""
        out: dict[Any, Group] = {}
        done: SimpleQueue[Any] = SimpleQueue()
        while True:
            while len(out) < ahead and (group := next(groups, None)) is not None:
                # not pure: Dask must not answer with what the same file was read to before
                future = self._client.submit(read_group, group, pure=False)
                out[future] = group
                future.add_done_callback(done.put)
            if not out:
                return
            future = done.get()
            yield out.pop(future), self._result(future)

    def _result(self, future: Any) -> list[Reading] | None:
        try:
            readings: list[Reading] = future.result()
        except self._distributed.KilledWorker:
            return None
        except (OSError, self._distributed.CancelledError) as error:
            raise SchedulerLost from error
        return readings


@contextmanager
def cluster(address: str) -> Iterator[Cluster]:
    """The cluster of this scheduler, for the block.

    Raises InputError, one line: Dask is not installed, no scheduler answers, it has no workers,
    their programs or libraries differ from this process's, or it is lost on the way.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        raise InputError("--scheduler: needs Dask; install neckform[cluster]") from None
    for name in _LOGS:
        logging.getLogger(name).setLevel(logging.CRITICAL)
    with _connected(distributed, address) as client:
        threads = _threads(client, address)
        check_alike(surroundings(), _of_workers(client, address), address)
        try:
            yield Cluster(distributed, client, threads)
        except SchedulerLost as error:
            raise InputError(
                f"--scheduler {address}: was lost; what was read is kept: run it again to go on"
            ) from error


@contextmanager
def _connected(distributed: Any, address: str) -> Iterator[Any]:
    try:
        # asked first: a client that nobody answers takes long to give up and leaves threads behind
        asyncio.run(asyncio.wait_for(_greeted(distributed, address), ANSWERS_S + 1.0))
        client = distributed.Client(address, timeout=ANSWERS_S, set_as_default=False)
    except Exception as error:
        # whatever it comes to where something answers that is no scheduler
        raise InputError(
            f"--scheduler {address}: no Dask scheduler answers there "
            f"({reason(error)}); start one with: dask scheduler"
        ) from error
    try:
        yield client
    finally:
        client.close(timeout=ANSWERS_S)


async def _greeted(distributed: Any, address: str) -> None:
    line = await distributed.comm.connect(address, timeout=ANSWERS_S)
    await line.close()


def _threads(client: Any, address: str) -> int:
    threads = sum(client.nthreads().values())
    if not threads:
        raise InputError(
            f"--scheduler {address}: has no workers; start some with: dask worker {address}"
        )
    return int(threads)


def _of_workers(client: Any, address: str) -> dict[str, dict[str, str]]:
    """Every worker's surroundings, by its address."""
    try:
        found: dict[str, dict[str, str]] = client.run(surroundings)
    except Exception as error:
        # whatever the workers' own program raises where it is not this one
        raise InputError(
            f"--scheduler {address}: its workers do not have this program ({reason(error)}); "
            "install the same neckform[cluster] there"
        ) from error
    return found
