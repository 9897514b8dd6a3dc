"""Processes of this machine, each with one group at a time."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.context import ForkProcess, SpawnProcess
from pathlib import Path
from typing import Any, Generic, TypeVar

#: Set before numpy is imported: many small matrices, threads would only wait for one another.
ONE_THREAD = "OPENBLAS_NUM_THREADS"
#: A folder for each thread of this process, those of libraries too.
_THREADS = Path("/proc/self/task")

Task = TypeVar("Task")
Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class _Worker:
    process: ForkProcess | SpawnProcess
    line: Connection


@dataclass(frozen=True, slots=True)
class _Work(Generic[Task]):
    """A group and who has it. again: it is one task, whose worker died once already."""

    worker: _Worker
    group: tuple[Task, ...]
    again: bool


def cores() -> int:
    """How many of this machine this process may use."""
    return len(os.sched_getaffinity(0))


class Pool(Generic[Task, Found]):
    """So many worker processes, for the time of one `map`.

    Who has which group is known at any time: a worker that dies takes its group with it and no
    other. The group's tasks are then tried once more, each alone.

    work: what a worker does with a group, a function of a module. killed: what is found of a task
    that killed its worker again when it was tried alone.
    """

    def __init__(
        self,
        workers: int,
        work: Callable[[tuple[Task, ...]], list[Found]],
        killed: Callable[[Task], Found],
    ) -> None:
        self._count, self._work, self._killed = workers, work, killed

    def map(self, groups: Iterable[tuple[Task, ...]]) -> Iterator[list[Found]]:
        """What is found of each group as it comes, in any order of the groups.

        Few groups are taken ahead of those that are done; every task comes out once. Workers end
        with the iterator, however it ends.
        """
        waiting, again = iter(groups), deque[tuple[Task, ...]]()
        idle = [_started(self._work) for _ in range(self._count)]
        busy: dict[int, _Work[Task]] = {}
        done: list[list[Found]] = []
        try:
            while True:
                while idle and (work := _next(idle[-1], again, waiting)) is not None:
                    idle.pop()
                    busy[work.worker.line.fileno()] = work
                    _give(work)
                # only then: nobody idles while what is done is being stored
                yield from done
                if not busy:
                    return
                done = []
                for work in _heard_of(busy):
                    found: list[Found] | None = _taken(work.worker)
                    if found is not None:
                        idle.append(work.worker)
                        done.append(found)
                        continue
                    _end(work.worker)
                    idle.append(_started(self._work))
                    if work.again:
                        done.append([self._killed(task) for task in work.group])
                    else:
                        again.extend((task,) for task in work.group)
        finally:
            for worker in (*idle, *(work.worker for work in busy.values())):
                _end(worker)


def _next(
    worker: _Worker, again: deque[tuple[Task, ...]], waiting: Iterator[tuple[Task, ...]]
) -> _Work[Task] | None:
    if again:
        return _Work(worker, again.popleft(), True)
    group = next(waiting, None)
    return None if group is None else _Work(worker, group, False)


def _give(work: _Work[Any]) -> None:
    # a worker that is gone is found out by reading from it
    with suppress(BrokenPipeError):
        work.worker.line.send(work.group)


def _heard_of(busy: dict[int, _Work[Task]]) -> list[_Work[Task]]:
    """Those that have answered or died, at least one; no longer busy."""
    heard = wait([work.worker.line for work in busy.values()])
    return [busy.pop(line.fileno()) for line in heard if isinstance(line, Connection)]


def _taken(worker: _Worker) -> Any:
    """What a worker has found, None where it has died."""
    try:
        return worker.line.recv()
    except (EOFError, OSError):
        return None


def _started(work: Callable[[Any], Any]) -> _Worker:
    os.environ.setdefault(ONE_THREAD, "1")
    mine, its = multiprocessing.Pipe()
    kind = ForkProcess if _may_fork() else SpawnProcess
    process = kind(target=_live, args=(its, work), daemon=True)
    process.start()
    its.close()
    return _Worker(process, mine)


def _may_fork() -> bool:
    """A forked worker begins at once, and has all that is imported; but of a process with
    threads, whatever they held stays held in it for ever."""
    return sys.platform == "linux" and len(list(_THREADS.iterdir())) == 1


def _end(worker: _Worker) -> None:
    worker.process.kill()
    worker.process.join()
    worker.line.close()


def _live(line: Connection, work: Callable[[Any], Any]) -> None:
    """A worker's life: it ends when nobody is at the other end."""
    # Ctrl-C goes to all processes of a terminal: the parent ends its workers itself
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for number in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)
    with suppress(EOFError, OSError):
        while True:
            line.send(work(line.recv()))
