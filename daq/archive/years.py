"""Pure: what becomes of an instrument over the years, from the archive's rows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import pairwise
from typing import Final

from daq.archive.rows import ReadingRow, ScanRow
from daq.archive.trend import Trend, trend

#: Wear that is less by so many standard uncertainties, and by so much, was taken off with a file;
#: the second stands for what is not in the first (own choice).
SURE: Final = 3.0
LEAST_FALL_UM: Final = 5.0


@dataclass(frozen=True, slots=True)
class Moment:
    """One scan of an instrument as it was read last. year: decimal. relief, wear, u: standard
    uncertainties of one, in µm; a wear's is that of a top, of which it is the distance to its
    neighbours. None where it is not known."""

    scan: ScanRow
    year: float
    relief_um: float | None
    u_relief_um: float | None
    wear_um: float | None
    u_wear_um: float | None


@dataclass(frozen=True, slots=True)
class InstrumentYears:
    """An instrument: moments, oldest first, and what changes a year.

    relief: by state, for the strings' pull is no change of years. dressed: the moments at which
    wear had become less, which only a file does. wear: since the last of them. unread: scans of it
    that no reading is of.
    """

    name: str
    moments: tuple[Moment, ...]
    relief: Mapping[str, Trend]
    dressed: tuple[Moment, ...]
    wear: Trend | None
    unread: int

    @property
    def since_dressed(self) -> tuple[Moment, ...]:
        """The moments that `wear` is of."""
        start = self.moments.index(self.dressed[-1]) if self.dressed else 0
        return self.moments[start:]


def instrument_years(
    name: str, scans: Sequence[ScanRow], readings: Sequence[ReadingRow]
) -> InstrumentYears:
    """Of one instrument's scans. A copy of a scan counts once; of several readings, the latest."""
    latest = {one.url: one for one in sorted(readings, key=lambda one: one.read_at)}
    chosen = [scan for scan in in_time(scans) if scan.kind == "scan"]
    moments = tuple(_moment(scan, latest[scan.url]) for scan in chosen if scan.url in latest)
    by_state = {scan.state or "" for scan in chosen}
    reliefs = {
        state: trend_of([(m.year, m.relief_um, m.u_relief_um) for m in moments
                       if (m.scan.state or "") == state])
        for state in sorted(by_state)
    }  # fmt: skip
    whole = InstrumentYears(
        name,
        moments,
        {state: one for state, one in reliefs.items() if one is not None},
        tuple(_dressed(moments)),
        None,
        len(chosen) - len(moments),
    )
    wear = [(m.year, m.wear_um, m.u_wear_um) for m in whole.since_dressed]
    return replace(whole, wear=trend_of(wear))


def decimal_year(made: str) -> float:
    """2024.5 for the middle of 2024. ValueError: it is no ISO time."""
    then = datetime.fromisoformat(made)
    start = datetime(then.year, 1, 1, tzinfo=UTC)
    end = datetime(then.year + 1, 1, 1, tzinfo=UTC)
    return then.year + (then - start) / (end - start)


def in_time(scans: Sequence[ScanRow]) -> list[ScanRow]:
    whole = [
        scan for scan in scans
        if scan.fault is None and scan.made is not None and scan.duplicate_of is None
    ]  # fmt: skip
    return sorted(whole, key=lambda scan: (str(scan.made), scan.url))


def _moment(scan: ScanRow, reading: ReadingRow) -> Moment:
    return Moment(
        scan,
        decimal_year(str(scan.made)),
        reading.relief_um,
        reading.u_relief_um,
        reading.wear_um,
        reading.u_top_um if reading.wear_um is not None else None,
    )


def _dressed(moments: Sequence[Moment]) -> Iterator[Moment]:
    """Where wear is less than at the scan before by more than `SURE` uncertainties of both."""
    known = [moment for moment in moments if moment.wear_um is not None]
    for before, after in pairwise(known):
        fall = float(before.wear_um or 0.0) - float(after.wear_um or 0.0)
        if (
            fall
            > SURE * math.hypot(before.u_wear_um or 0.0, after.u_wear_um or 0.0) + LEAST_FALL_UM
        ):
            yield after


def trend_of(rows: Sequence[tuple[float, float | None, float | None]]) -> Trend | None:
    known = [(year, value, u) for year, value, u in rows if value is not None]
    return trend([row[0] for row in known], [row[1] for row in known], [row[2] for row in known])
