"""Repeated scans of a job, read to one neck."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from analysis.instrument import Instrument
from analysis.repeats.combined import combined
from analysis.wear.loose import Loose
from daq.reading.neck import ReadScan


@dataclass(frozen=True, slots=True)
class ScanLeftOut:
    """A scan that was not combined with the latest, and why."""

    path: Path
    why: str


@dataclass(frozen=True, slots=True)
class TopOff:
    """A top of one scan that is off what the others say; path None where two scans disagree
    and it cannot be told which is right. string 2.5 is midway."""

    path: Path | None
    fret: int
    string: float
    off_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True)
class Repeats:
    """What one neck was made of. used: scans, the latest last. loose: frets they, or
    scans in both states, disagree about. u_clamping_mm: the most that a top is uncertain by for
    how clamping bent the neck, 0 for one scan, which does not show it."""

    used: tuple[Path, ...]
    left_out: tuple[ScanLeftOut, ...] = ()
    off: tuple[TopOff, ...] = ()
    loose: tuple[Loose, ...] = ()
    u_clamping_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class CombinedScan(ReadScan):
    """The latest scan, its remarks and calibrations, and the neck of all that repeat it."""

    repeats: Repeats = Repeats(())

    def also_loose(self, loose: tuple[Loose, ...]) -> CombinedScan:
        """With frets that a scan in the other state disagrees about."""
        repeats = replace(self.repeats, loose=(*self.repeats.loose, *loose))
        return replace(self, repeats=repeats)


def combined_scan(
    scans: Sequence[ReadScan], instrument: Instrument, unread: Sequence[ScanLeftOut] = ()
) -> CombinedScan:
    """The last scan, with the neck of all that fit it; scans: oldest first.

    unread: those of the run that could not be read, to be told with those that do not fit.
    """
    latest, paths = scans[-1], [one.scan.path for one in scans]
    found = combined([one.neck for one in scans], instrument)
    left_out = [ScanLeftOut(paths[one.scan], one.why) for one in found.left_out]
    repeats = Repeats(
        tuple(paths[scan] for scan in found.used),
        tuple(sorted([*unread, *left_out], key=lambda one: one.path.name)),
        tuple(
            TopOff(None if one.scan is None else paths[one.scan], one.fret, one.string,
                   one.off_mm, one.u_mm)
            for one in found.outliers
        ),
        found.loose,
        float(np.nanmax(found.neck.terms.parts.get("clamping", np.zeros(1)))),
    )  # fmt: skip
    return CombinedScan(latest.scan, found.neck, latest.calibrations, latest.remarks, repeats)
