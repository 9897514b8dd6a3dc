"""What every engine is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Protocol

from daq.archive.one import Group
from daq.archive.reading import Reading

#: So many scans are given out together. One takes a few tenths of a second, giving a group out
#: a millisecond: more would only make the last ones wait for one another.
GROUP = 4


class Engine(Protocol):
    """Reads groups of scans, several at a time."""

    def map(self, groups: Iterable[Group]) -> Iterator[list[Reading]]:
        """The readings of each group as they come, in any order of the groups.

        Few groups are taken ahead of those that are done. Every task comes out once.
        """
        ...
