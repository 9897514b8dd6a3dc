"""Pure: how well a rig has been over the years, from the archive's rows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

import numpy as np

from daq.archive.rows import ScanRow
from daq.archive.trend import Trend
from daq.archive.years import decimal_year, in_time, trend_of

#: Up to so many years a rig is told month by month.
_MONTHLY_YEARS: Final = 2.0


@dataclass(frozen=True, slots=True)
class Health:
    """A rig at one scan. year: decimal. Shares of what it sent; None where it is not known."""

    scan: ScanRow
    year: float
    noise_um: float | None
    lost: float | None
    damaged: float | None


@dataclass(frozen=True, slots=True)
class Span:
    """A month or a year of a rig. name: ISO, 2024-05 or 2024. year: the middle of its scans.

    noise_um, lost, damaged: means; each u: the standard uncertainty of that mean by the scatter of
    the scans, None of one alone. NaN means: of no scan is it known.
    """

    name: str
    year: float
    scans: int
    noise_um: float
    u_noise_um: float | None
    lost: float
    u_lost: float | None
    damaged: float
    u_damaged: float | None


@dataclass(frozen=True, slots=True)
class RigYears:
    """A rig: every scan, oldest first, the same by months or years, and the trends of both."""

    name: str
    health: tuple[Health, ...]
    spans: tuple[Span, ...]
    noise: Trend | None
    lost: Trend | None


def rig_years(name: str, scans: Sequence[ScanRow]) -> RigYears:
    """Of one rig's recordings, calibrations among them. A copy of a scan counts once."""
    health = tuple(
        Health(scan, decimal_year(str(scan.made)), scan.noise_um, scan.lost, scan.damaged)
        for scan in in_time(scans)
    )
    return RigYears(
        name,
        health,
        tuple(_spans(health)),
        trend_of([(one.year, one.noise_um, None) for one in health]),
        trend_of([(one.year, one.lost, None) for one in health]),
    )


def _spans(health: Sequence[Health]) -> list[Span]:
    if not health:
        return []
    letters = 7 if health[-1].year - health[0].year <= _MONTHLY_YEARS else 4
    groups = groupby(health, key=lambda one: str(one.scan.made)[:letters])
    return [_span(name, list(group)) for name, group in groups]


def _span(name: str, group: Sequence[Health]) -> Span:
    noise, lost, damaged = (
        _mean([getattr(one, what) for one in group]) for what in ("noise_um", "lost", "damaged")
    )
    year = float(np.mean([one.year for one in group]))
    return Span(name, year, len(group), *noise, *lost, *damaged)


def _mean(values: Sequence[float | None]) -> tuple[float, float | None]:
    known = [value for value in values if value is not None]
    if not known:
        return math.nan, None
    mean = float(np.mean(known))
    if len(known) < 2:
        return mean, None
    return mean, float(np.std(known, ddof=1)) / math.sqrt(len(known))
