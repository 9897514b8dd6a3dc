"""Years of an instrument or a rig in words and tables, for a terminal and a page alike."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from daq.archive.pictures import PERCENT, span_word
from daq.archive.rig_years import RigYears
from daq.archive.trend import Trend
from daq.archive.years import InstrumentYears
from daq.text.archive import minute
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.words import counted, fixed, signed

INSTRUMENT_HEADERS = ("made, UTC", "job", "state", "relief µm", "±", "wear µm", "±")
RIG_HEADERS = ("", "recordings", "noise µm", "±", "lost %", "±", "damaged %", "±")
LEGEND = "±: twice the standard uncertainty"
#: What of the instrument is not in the table, and what to do.
_UNREAD = (
    "{scans} of it {are} in the archive and not yet read; read {them} with: neckform archive again"
)


def print_instrument_years(console: Console, years: InstrumentYears) -> None:
    """Every scan that was read, and what changes a year."""
    heading(console, years.name)
    _print(console, INSTRUMENT_HEADERS, instrument_rows(years))
    bullets(console, instrument_sentences(years))


def print_rig_years(console: Console, years: RigYears) -> None:
    """By months or years, and what changes."""
    heading(console, years.name)
    _print(console, rig_headers(years), rig_rows(years))
    bullets(console, rig_sentences(years))


def instrument_rows(years: InstrumentYears) -> list[list[str]]:
    """A row a scan, oldest first, under `INSTRUMENT_HEADERS`."""
    return [
        [
            minute(m.scan.made), m.scan.job or "-", m.scan.state or "-",
            *_value(m.relief_um, m.u_relief_um, 1), *_value(m.wear_um, m.u_wear_um, 1),
        ]
        for m in years.moments
    ]  # fmt: skip


def rig_headers(years: RigYears) -> tuple[str, ...]:
    return (span_word(years), *RIG_HEADERS[1:])


def rig_rows(years: RigYears) -> list[list[str]]:
    """A row a month or a year, under `rig_headers`."""
    return [
        [
            s.name, str(s.scans), *_value(s.noise_um, s.u_noise_um, 2),
            *_value(s.lost, s.u_lost, 4, PERCENT), *_value(s.damaged, s.u_damaged, 4, PERCENT),
        ]
        for s in years.spans
    ]  # fmt: skip


def instrument_sentences(years: InstrumentYears) -> list[str]:
    """What changes a year, and what is not read yet."""
    said = [trend_sentence(f"Relief, {state or 'state not said'}", one, "µm", 1)
            for state, one in years.relief.items()]  # fmt: skip
    if years.wear is not None:
        since = years.dressed[-1].scan.made if years.dressed else None
        what = "Wear" if since is None else f"Wear since frets were dressed, by {since[:10]}"
        said.append(trend_sentence(what, years.wear, "µm", 1))
    if not said and years.moments:
        said.append("Too few scans, or within too short a time, to tell what changes a year.")
    if years.unread:
        one = years.unread == 1
        said.append(
            _UNREAD.format(
                scans=counted(years.unread, "scan"),
                are="is" if one else "are",
                them="it" if one else "them",
            )
            + "."
        )
    return said


def rig_sentences(years: RigYears) -> list[str]:
    """What changes a year."""
    said = []
    if years.noise is not None:
        said.append(trend_sentence("Noise", years.noise, "µm", 2))
    if years.lost is not None:
        said.append(trend_sentence("Lost", years.lost, "%", 4, PERCENT))
    return said or ["Too few recordings, or within too short a time, to tell what changes a year."]


def trend_sentence(what: str, one: Trend, unit: str, digits: int, scale: float = 1.0) -> str:
    """Relief, strung: +12.0 ± 3.1 µm a year."""
    rate, band = scale * one.rate, 2.0 * scale * one.u_rate
    said = f"{what}: {signed(rate, digits)} ± {fixed(band, digits)} {unit} a year"
    if abs(rate) <= band or round(rate, digits) == 0.0:
        return f"{said}: no change that is sure."
    if one.scatter > 2.0:
        said += f"; single scans lie {fixed(one.scatter, 1)} times wider about it than they should"
    return f"{said}."


def about_instrument(years: InstrumentYears) -> str:
    """How much there is of it, in a line."""
    return _about([str(m.scan.made) for m in years.moments], "scan")


def about_rig(years: RigYears) -> str:
    """How much there is of it, in a line."""
    return _about([str(one.scan.made) for one in years.health], "recording")


def _about(made: Sequence[str], noun: str) -> str:
    if not made:
        return f"No {noun} of it can be told."
    return f"{counted(len(made), noun)}, {made[0][:10]} to {made[-1][:10]}. {LEGEND}."


def _print(console: Console, headers: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    if not rows:
        return
    table = plain_table(headers)
    for row in rows:
        table.add_row(*row)
    console.print(table)
    say(console, LEGEND, "dim")


def _value(value: float | None, u: float | None, digits: int, scale: float = 1.0) -> list[str]:
    if value is None or value != value:
        return ["-", "-"]
    return [fixed(scale * value, digits), "-" if u is None else fixed(2.0 * scale * u, digits)]
