"""/entry/samples and /entry/carriage_samples: every sample as counts, written and read."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from daq.record.growing import GrowingColumn
from daq.record.hdf5 import Group, new_group
from daq.record.merge import Arrived
from daq.wire.records import SampleBlock

LINK_GROUPS = ("samples", "carriage_samples")
"""The sensor's, and the carriage's where it has a link of its own."""
_COLUMNS = ("seq", "t_us", "x", "y", "raw", "temp")
_UNITS = {"t_us": "us", "temp": "0.01 degC"}


class SampleStore:
    """Keeps samples in a scan file as they are decoded; the int32 minimum marks an empty cell.

    Where the carriage has a link of its own both groups say when each sample came.
    """

    def __init__(self, entry: Group) -> None:
        self._entry = entry
        self._names: tuple[str, ...] = ()
        self._links: list[dict[str, GrowingColumn]] = []

    def named(self, names: tuple[str, ...]) -> None:
        """The links' names, where there are two: told before any of their samples."""
        self._names = names

    def add(
        self, link: int, samples: SampleBlock, arrival_ns: NDArray[np.int64], pass_number: int
    ) -> None:
        """More samples of a link. arrival_ns: int64[n]. pass_number: -1 outside any."""
        self._widen(link + 1)
        columns = self._links[link]
        for name, values in zip(_COLUMNS, samples.columns(), strict=True):
            columns[name].add(values)
        columns["pass"].add(np.full(len(samples), pass_number, np.int32))
        if "arrival_ns" in columns:
            columns["arrival_ns"].add(arrival_ns)

    def finish(self, links: int) -> None:
        """All of so many links has been added."""
        self._widen(links)
        for columns in self._links:
            for column in columns.values():
                column.finish()

    def _widen(self, links: int) -> None:
        while len(self._links) < links:
            self._links.append(self._new_group(len(self._links)))

    def _new_group(self, number: int) -> dict[str, GrowingColumn]:
        group = new_group(self._entry, LINK_GROUPS[number], "NXcollection")
        kinds = dict.fromkeys(_COLUMNS[:2], np.uint32) | dict.fromkeys(_COLUMNS[2:], np.int32)
        columns = {
            name: GrowingColumn(group, name, kind, units=_UNITS.get(name, "counts"))
            for name, kind in kinds.items()
        }
        outside = "pass number, -1 outside any"
        columns["pass"] = GrowingColumn(group, "pass", np.int32, meaning=outside)
        if self._names:
            group.attrs["link"] = self._names[number]
            columns["arrival_ns"] = GrowingColumn(
                group, "arrival_ns", np.int64, units="ns", meaning="since 1970"
            )
        return columns


def read_links(entry: Group) -> tuple[Arrived, ...]:
    """The samples of each link; of one link's nobody asks when they came."""
    sensor = _samples(entry[LINK_GROUPS[0]])
    if LINK_GROUPS[1] not in entry:
        return (Arrived(sensor, np.empty(0, np.int64)),)
    groups = [entry[name] for name in LINK_GROUPS]
    return tuple(Arrived(_samples(group), group["arrival_ns"][()]) for group in groups)


def _samples(group: Group) -> SampleBlock:
    return SampleBlock(*(group[name][()] for name in _COLUMNS))
