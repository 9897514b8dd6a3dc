"""The samples of a rig with two links, put together: readings with the carriage's counts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.clocks.fit import ClockError
from calibration.clocks.stamped import Stamped
from calibration.clocks.two import Placed, TwoClocks, place_samples
from daq.wire.records import ABSENT, IntColumn, SampleBlock


@dataclass(frozen=True, slots=True)
class Arrived:
    """The samples of one link and when each came: arrival_ns int64[n], nanoseconds since 1970."""

    samples: SampleBlock
    arrival_ns: NDArray[np.int64]

    @classmethod
    def none(cls) -> Arrived:
        """No samples."""
        return cls(SampleBlock.empty(), np.empty(0, np.int64))

    @property
    def stamped(self) -> Stamped:
        """As the calibration room takes them."""
        return Stamped(self.samples.t_us, self.arrival_ns, counted=_is_counted(self.samples))


@dataclass(frozen=True, slots=True)
class Merged:
    """samples: the sensor's that have a place, with the carriage's x and y in them, and its
    temperature where the sensor's link brings none. clocks: None on one link, and where nothing
    could be placed: then there are no samples.
    kept, by link: int[n] of the sensor's, which of its samples they are; of the carriage's, its
    sample before each. None on one link: all of them are.
    """

    samples: SampleBlock
    clocks: TwoClocks | None
    kept: tuple[NDArray[np.intp], NDArray[np.intp]] | None

    def rows(self, link: int, numbers: NDArray[np.integer]) -> NDArray[np.integer]:
        """Where the samples with these numbers among a link's would be in `samples`."""
        return numbers if self.kept is None else np.searchsorted(self.kept[link], numbers)


def merge(links: tuple[Arrived, ...]) -> Merged:
    """One link's samples as they are; of two, the sensor's among the carriage's.

    Raises ClockError as `place_samples`.
    """
    samples = links[0].samples
    if len(links) == 1:
        return Merged(samples, None, None)
    placed, clocks = place_samples(links[0].stamped, links[1].stamped)
    carriage = links[1].samples
    kept = np.flatnonzero(placed.ok)
    placed = Placed(placed.row[kept], placed.share[kept], placed.ok[kept])
    told = (samples.temp != ABSENT).any()
    temp = samples.temp[kept] if told else _between(placed, carriage.temp)
    merged = SampleBlock(
        samples.seq[kept],
        samples.t_us[kept],
        _between(placed, carriage.x),
        _between(placed, carriage.y),
        samples.raw[kept],
        temp,
    )
    return Merged(merged, clocks, (kept, placed.row))


def merge_what_can_be(links: tuple[Arrived, ...]) -> Merged:
    """As `merge`; without samples where the clocks cannot be known (a scan cut off early)."""
    try:
        return merge(links)
    except ClockError:
        nothing = np.empty(0, np.intp)
        return Merged(SampleBlock.empty(), None, (nothing, nothing))


def _is_counted(samples: SampleBlock) -> bool:
    """Whether its clock is nothing but its running number at a whole rate: a sensor that prints."""
    step = np.diff(samples.seq.astype(np.int64))
    passed_us = np.diff(samples.t_us.astype(np.int64))
    alone = np.flatnonzero((step == 1) & (passed_us > 0))
    if not alone.size:
        return False
    rate_hz = round(1e6 / float(np.mean(passed_us[alone])))
    if not rate_hz:
        return False
    t_us = samples.seq.astype(np.int64) * 1_000_000 // rate_hz % 2**32
    return bool(np.array_equal(samples.t_us, t_us))


def _between(placed: Placed, column: IntColumn) -> IntColumn:
    """Whole counts between those of the neighbours; ABSENT where either has none."""
    absent = (column[placed.row] == ABSENT) | (column[placed.row + 1] == ABSENT)
    return np.where(absent, ABSENT, np.rint(placed.at(column))).astype(np.int32)
