"""Gauges that were not the ones they were said to be: named, so that only those are redone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray
from calibration.sensor.mixedfit import fit_mixed
from calibration.sensor.order import Scaled, choose_order, powers
from calibration.sensor.readings import GaugeReadings, SensorError

#: A sensor that moves by less than this share of its gauges is not on them.
LEAST_RISE = 0.05
#: Readings nearer to one another than this share of what lies between their gauges are the same.
SAME_SHARE = 0.1
#: Gauges nearer to one another than this share of all may read alike, or in the wrong order.
NEAR_SHARE = 0.02
#: An exchange is the explanation where it leaves less than this share of the scatter.
MENDED_SHARE = 0.2
#: Chance of calling a good gauge wrong, over all of them.
WRONG_CHANCE = 0.001
#: What lies off by less than this share of the gauges' range is the sensor's own waviness.
LEAST_WRONG_SHARE = 0.001
#: Scatter of more than this share of the range: the readings have nothing to do with the gauges.
WILDEST_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class _Idea:
    """What may have happened, and the readings as they would have been then."""

    words: str
    apart_mm: float
    readings: GaugeReadings


def check_gauges(readings: GaugeReadings) -> None:
    """Raises SensorError, naming the gauges, where two were exchanged, one was put there twice,
    one does not belong to the others, or the readings do not follow the gauges at all.
    """
    if np.ptp(readings.reading_mm) < LEAST_RISE * _span(readings):
        raise SensorError(
            "the readings hardly change with the gauges: is the tip on them, or the sensor at "
            "its stop?"
        )
    _check_alike(readings)
    scatter = _scatter(readings)
    if not _one_way(readings) or scatter > LEAST_WRONG_SHARE * _span(readings):
        _blame_exchange(readings, scatter)
    _check_one_way(readings)
    _check_each(readings)
    if scatter > WILDEST_SHARE * _span(readings):
        raise SensorError(
            f"the readings do not follow the gauges: scatter {1e3 * scatter:.0f} µm over "
            f"{_span(readings):g} mm; allowed {100 * WILDEST_SHARE:g} % of that: was each gauge "
            "under the tip?"
        )


def _span(readings: GaugeReadings) -> float:
    return float(np.ptp(readings.gauge_mm))


def _legs(readings: GaugeReadings) -> Iterator[NDArray[np.int_]]:
    """The readings of each way, from the thinnest gauge to the thickest."""
    for way in (1, -1):
        rows = np.flatnonzero(readings.way == way)
        if rows.size > 1:
            yield rows[np.argsort(readings.gauge_mm[rows], kind="stable")]


def _steps(readings: GaugeReadings, leg: NDArray[np.int_]) -> FloatArray:
    """Rise of the reading over rise of the gauge, against the usual one: 1 where all is well;
    NaN for neighbours too near to one another to tell."""
    gauge, reading = np.diff(readings.gauge_mm[leg]), np.diff(readings.reading_mm[leg])
    near = gauge < NEAR_SHARE * _span(readings)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(near, np.nan, reading / gauge / _usual_rise(readings))


def _usual_rise(readings: GaugeReadings) -> float:
    """Median of the rises between all pairs of readings (Theil and Sen)."""
    i, j = np.triu_indices(readings.gauge_mm.size, 1)
    apart = readings.gauge_mm[j] != readings.gauge_mm[i]
    rise = readings.reading_mm[j] - readings.reading_mm[i]
    gap = readings.gauge_mm[j] - readings.gauge_mm[i]
    return float(np.median(rise[apart] / gap[apart]))


def _one_way(readings: GaugeReadings) -> bool:
    return all(bool(np.all(~(_steps(readings, leg) < 0.0))) for leg in _legs(readings))


def _check_one_way(readings: GaugeReadings) -> None:
    for leg in _legs(readings):
        back = np.flatnonzero(_steps(readings, leg) < 0.0)
        if back.size:
            a, b = leg[back[0]], leg[back[0] + 1]
            raise SensorError(
                f"not one way: gauges {readings.gauge_mm[a]:g} and {readings.gauge_mm[b]:g} mm "
                f"read {readings.reading_mm[a]:.4g} and {readings.reading_mm[b]:.4g} mm; was a "
                "gauge mistaken, or the sensor at its stop?"
            )


def _check_alike(readings: GaugeReadings) -> None:
    for leg in _legs(readings):
        same = np.flatnonzero(np.abs(_steps(readings, leg)) < SAME_SHARE)
        if same.size:
            a, b = leg[same[0]], leg[same[0] + 1]
            raise SensorError(
                f"gauges {readings.gauge_mm[a]:g} and {readings.gauge_mm[b]:g} mm read the same, "
                f"{readings.reading_mm[a]:.4g} mm{_on_the_way(readings, a)}: was one of them put "
                "there twice, or is the sensor at its stop?"
            )


def _on_the_way(readings: GaugeReadings, row: int) -> str:
    if not readings.both_ways:
        return ""
    return " (tip rising)" if readings.way[row] > 0 else " (tip sinking)"


def _blame_exchange(readings: GaugeReadings, scatter: float) -> None:
    """Names the two gauges whose exchange would explain the readings, if any would; of several,
    those nearest to one another."""
    ideas = [
        idea
        for idea in _exchanges(readings)
        if _scatter(idea.readings) < MENDED_SHARE * scatter and _one_way(idea.readings)
    ]
    if ideas:
        raise SensorError(min(ideas, key=lambda idea: idea.apart_mm).words)


def _exchanges(readings: GaugeReadings) -> Iterator[_Idea]:
    for leg in _legs(readings):
        for i, j in zip(*np.triu_indices(leg.size, 1), strict=True):
            a, b = int(leg[i]), int(leg[j])
            swapped = readings.reading_mm.copy()
            swapped[[a, b]] = swapped[[b, a]]
            yield _idea(
                readings, a, b, _on_the_way(readings, a), replace(readings, reading_mm=swapped)
            )
    if readings.both_ways:
        sizes = np.unique(readings.gauge_mm)
        for i, j in zip(*np.triu_indices(sizes.size, 1), strict=True):
            one, other = readings.gauge_mm == sizes[i], readings.gauge_mm == sizes[j]
            if np.count_nonzero(one) == np.count_nonzero(other) > 1:
                gauge = np.where(one, sizes[j], np.where(other, sizes[i], readings.gauge_mm))
                a, b = int(np.flatnonzero(one)[0]), int(np.flatnonzero(other)[0])
                yield _idea(readings, a, b, " both times", replace(readings, gauge_mm=gauge))


def _idea(readings: GaugeReadings, a: int, b: int, when: str, then: GaugeReadings) -> _Idea:
    gauge, reading = readings.gauge_mm, readings.reading_mm
    words = (
        f"gauges {gauge[a]:g} and {gauge[b]:g} mm seem to have been exchanged{when}: they read "
        f"{reading[a]:.4g} and {reading[b]:.4g} mm"
    )
    return _Idea(words, abs(float(gauge[a] - gauge[b])), then)


def _scatter(readings: GaugeReadings) -> float:
    """About the line, or the quadratic where there are gauges enough, by plain least squares."""
    order = 2 if readings.sizes >= 5 else 1
    design = np.column_stack([powers(Scaled.of(readings).at, order + 1), readings.nuisance()])
    fit, *_ = np.linalg.lstsq(design, readings.gauge_mm, rcond=None)
    free = max(readings.gauge_mm.size - design.shape[1], 1)
    return float(np.sqrt(np.sum((readings.gauge_mm - design @ fit) ** 2) / free))


def _check_each(readings: GaugeReadings) -> None:
    """Each gauge, and each single reading, against the curve through all the others."""
    sets = list(_sets(readings))
    worst, least = None, WRONG_CHANCE / max(len(sets), 1)
    for rows in sets:
        rest = readings.kept(~rows)
        if rest.sizes < 4:
            continue
        chance, off = _against(readings, rows, rest)
        if chance < least and abs(off) > LEAST_WRONG_SHARE * _span(readings):
            worst, least = (rows, off), chance
    if worst is not None:
        rows, off = worst
        first = int(np.flatnonzero(rows)[0])
        way = _on_the_way(readings, first) if np.count_nonzero(rows) == 1 else ""
        raise SensorError(
            f"gauge {readings.gauge_mm[first]:g} mm does not belong to the others: it reads "
            f"{1e3 * off:+.1f} µm off the curve through them{way}: was it the right one, clean "
            "and flat under the tip?"
        )


def _sets(readings: GaugeReadings) -> Iterator[NDArray[np.bool_]]:
    """Every single reading, and all the readings of one gauge where there are several."""
    for row in range(readings.gauge_mm.size):
        yield np.arange(readings.gauge_mm.size) == row
    for number in range(readings.sizes):
        rows = readings.group == number
        if np.count_nonzero(rows) > 1:
            yield rows


def _against(
    readings: GaugeReadings, rows: NDArray[np.bool_], rest: GaugeReadings
) -> tuple[float, float]:
    """(chance that it belongs to the rest, how far it reads off on the whole, mm).

    The gauge in question gets an error of its own, one coefficient more: that is the curve
    through the others, and how far this one lies off it.
    """
    order = choose_order(rest).order
    design = np.column_stack(
        [powers(Scaled.of(readings).at, order + 1), readings.nuisance(), rows.astype(float)]
    )
    fit = fit_mixed(
        design, readings.gauge_mm, readings.group, readings.u_gauge_mm, readings.least_mm
    )
    term = fit.coefficients.size - 1
    return fit.chance_of_none(slice(term, None)), -float(fit.coefficients[-1])
