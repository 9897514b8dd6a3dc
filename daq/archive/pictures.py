"""The years drawn: an instrument's relief and wear, a rig's noise and what it loses."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from daq.archive.rig_years import Health, RigYears, Span
from daq.archive.trend import Trend
from daq.archive.years import InstrumentYears, Moment
from daq.figures.picture import Picture
from daq.figures.timechart import Line, Series, time_chart

_BARS = "Bars: twice the standard uncertainty. "
_RELIEF = (
    "Filled dots, solid: strung. Open dots, dashed: unstrung. "
    + _BARS
    + "A line is drawn where three scans or more tell how it changes."
)
_WEAR = (
    "How far the most worn place of the neck lies under its neighbours. "
    + _BARS
    + "It falls where frets were dressed; the line is how it has grown since the last time."
)
_EACH = "Grey: every recording. Dots: means of a {span}, bars twice their standard uncertainty."
PERCENT = 100.0


def instrument_pictures(years: InstrumentYears) -> list[Picture]:
    """Those for which there is something to draw."""
    states = sorted({moment.scan.state or "" for moment in years.moments})
    relief = [_relief(years, state) for state in states]
    wear = _points(years.moments, lambda m: (m.wear_um, m.u_wear_um))
    since = _points(years.since_dressed, lambda m: (m.wear_um, m.u_wear_um))
    deepest = Series("deepest wear", "strung", wear, _line(years.wear, since))
    drawn = [
        _picture("Relief", _RELIEF, "relief in mid-board, µm", relief, 20.0),
        _picture("Wear", _WEAR, "deepest wear, µm", [deepest], 10.0),
    ]
    return [one for one in drawn if one.svg]


def rig_pictures(years: RigYears) -> list[Picture]:
    """Those for which there is something to draw."""
    each = _EACH.format(span=span_word(years))
    noise = _both(years, "noise", lambda h: h.noise_um, lambda s: (s.noise_um, s.u_noise_um))
    drawn = [
        _picture("Noise of a reading", f"On the rig's own pads. {each}", "noise, µm", noise, 1.0),
        _shares(years, "Lost samples", f"Missing by their running numbers. {each}", "lost"),
        _shares(years, "Damaged frames", f"Dropped for a wrong checksum. {each}", "damaged"),
    ]
    return [one for one in drawn if one.svg]


def span_word(years: RigYears) -> str:
    """What its spans are: month or year."""
    return "month" if any("-" in span.name for span in years.spans) else "year"


def _relief(years: InstrumentYears, state: str) -> Series:
    of_state = [moment for moment in years.moments if (moment.scan.state or "") == state]
    at = _points(of_state, lambda m: (m.relief_um, m.u_relief_um))
    kind = "unstrung" if state == "unstrung" else "strung"
    return Series(state or "not said", kind, at, _line(years.relief.get(state), at))


def _points(
    moments: Sequence[Moment], of: Callable[[Moment], tuple[float | None, float | None]]
) -> list[tuple[float, float, float]]:
    told = [(moment.year, *of(moment)) for moment in moments]
    return [(year, value, 2.0 * (u or 0.0)) for year, value, u in told if value is not None]


def _both(
    years: RigYears,
    name: str,
    each: Callable[[Health], float | None],
    mean: Callable[[Span], tuple[float, float | None]],
    scale: float = 1.0,
) -> list[Series]:
    told = [(one.year, each(one)) for one in years.health]
    singles = [(year, scale * value, 0.0) for year, value in told if value is not None]
    means = [(span.year, *mean(span)) for span in years.spans]
    known = [(year, scale * value, 2.0 * scale * (u or 0.0))
             for year, value, u in means if value == value]  # fmt: skip
    return [
        Series("every recording", "now", singles),
        Series(f"{name}, mean of a {span_word(years)}", "strung", known),
    ]


def _shares(years: RigYears, title: str, words: str, name: str) -> Picture:
    """In percent, or in parts of a million where there are few: an axis has room for four signs."""
    most = max((getattr(one, name) or 0.0 for one in years.health), default=0.0)
    scale, unit, least = (PERCENT, "%", 0.1) if PERCENT * most >= 0.1 else (1e6, "ppm", 10.0)
    series = _both(
        years,
        name,
        lambda h: getattr(h, name),
        lambda s: (getattr(s, name), getattr(s, f"u_{name}")),
        scale,
    )
    return _picture(title, words, f"{name}, {unit}", series, least)


def _line(fitted: Trend | None, at: Sequence[tuple[float, float, float]]) -> Line | None:
    if fitted is None:
        return None
    first, last = at[0][0], at[-1][0]
    return Line((first, fitted.on(first)), (last, fitted.on(last)))


def _picture(title: str, words: str, unit: str, series: Sequence[Series], least: float) -> Picture:
    return Picture(title, words, time_chart(title, words, unit, series, least))
