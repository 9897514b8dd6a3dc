"""Years of an instrument or a rig as documents."""

from __future__ import annotations

from typing import Any

from daq.archive.rig_years import RigYears, Span
from daq.archive.trend import Trend
from daq.archive.years import InstrumentYears, Moment
from daq.documents.numbers import rounded


def instrument_years_document(years: InstrumentYears) -> dict[str, Any]:
    """µm; a trend is null where too few scans tell it; `wear_trend` is since the last of
    `dressed_by`, when wear had become less."""
    return {
        "instrument": years.name,
        "scans": [_moment(moment) for moment in years.moments],
        "relief_trends": {state: _trend(one) for state, one in years.relief.items()},
        "dressed_by": [moment.scan.made for moment in years.dressed],
        "wear_trend": _trend(years.wear),
        "unread": years.unread,
    }


def rig_years_document(years: RigYears) -> dict[str, Any]:
    """Every recording, and means by month or year; shares of what the rig sent."""
    return {
        "rig": years.name,
        "recordings": [
            {
                "url": one.scan.url,
                "made": one.scan.made,
                "noise_um": _number(one.noise_um, 3),
                "lost": _number(one.lost, 7),
                "damaged": _number(one.damaged, 7),
            }
            for one in years.health
        ],
        "spans": [_span(span) for span in years.spans],
        "noise_trend": _trend(years.noise),
        "lost_trend": _trend(years.lost, 7),
    }


def _moment(moment: Moment) -> dict[str, Any]:
    return {
        "url": moment.scan.url,
        "made": moment.scan.made,
        "job": moment.scan.job,
        "state": moment.scan.state,
        "relief_um": _number(moment.relief_um, 2),
        "u_relief_um": _number(moment.u_relief_um, 2),
        "wear_um": _number(moment.wear_um, 2),
        "u_wear_um": _number(moment.u_wear_um, 2),
    }


def _span(span: Span) -> dict[str, Any]:
    return {
        "span": span.name,
        "recordings": span.scans,
        "noise_um": _number(span.noise_um, 3),
        "u_noise_um": _number(span.u_noise_um, 3),
        "lost": _number(span.lost, 7),
        "u_lost": _number(span.u_lost, 7),
        "damaged": _number(span.damaged, 7),
        "u_damaged": _number(span.u_damaged, 7),
    }


def _trend(trend: Trend | None, digits: int = 4) -> dict[str, Any] | None:
    if trend is None:
        return None
    return {
        "a_year": rounded(trend.rate, digits),
        "u_a_year": rounded(trend.u_rate, digits),
        "scatter": rounded(trend.scatter, 2),
    }


def _number(value: float | None, digits: int) -> float | None:
    return None if value is None else rounded(value, digits)
