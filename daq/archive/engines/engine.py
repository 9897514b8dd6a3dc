"""What every engine is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Protocol

from daq.archive.one import Group
from daq.archive.reading import Reading

#: So many scans are given out together. One takes a quarter of a second to read; giving it out
#: alone costs Dask 12 ms, in fours 2 ms, in sixteens 1 ms, and the pool half a millisecond in any
#: case (two processes on two busy cores). More than four would save nothing to speak of, make the
#: last ones wait for one another, and lose more when a worker dies.
GROUP = 4


class Engine(Protocol):
    """Reads groups of scans, several at a time."""

    def map(self, groups: Iterable[Group]) -> Iterator[list[Reading]]:
        """The readings of each group as they come, in any order of the groups.

        Few groups are taken ahead of those that are done. Every task comes out once.
        """
        ...
