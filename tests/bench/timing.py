"""Ways of doing one thing, timed side by side."""

from __future__ import annotations

import resource
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True)
class Took:
    """Medians over the runs, seconds: by the clock, and of one core by this process."""

    wall_s: float
    cpu_s: float


def interleaved(ways: Mapping[str, Callable[[], object]], runs: int = 7) -> dict[str, Took]:
    """Each way once, then each again: what else the machine does falls on all of them alike.

    A first round is not counted: it fills caches.
    """
    took: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
    for number in range(runs + 1):
        for name, way in ways.items():
            began, used = time.perf_counter(), time.process_time()
            way()
            if number:
                took[name].append((time.perf_counter() - began, time.process_time() - used))
    return {
        name: Took(median(wall for wall, _ in all_of), median(cpu for _, cpu in all_of))
        for name, all_of in took.items()
    }


def children_cpu_s() -> float:
    """What the processes that were started from here and have ended used."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime
