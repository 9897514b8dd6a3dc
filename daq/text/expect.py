"""What to expect on the gauge, before and after the strings go on, and where to listen."""

from __future__ import annotations

from rich.console import Console

from analysis.bench.expect import Expected, Reading
from daq.text.console import bullets, heading, say
from daq.text.margins import position, spare_mm
from daq.text.words import fixed, runs


def print_expected(console: Console, expected: Expected) -> None:
    """Readings by string, each with twice its standard uncertainty, and the tightest places."""
    heading(console, "What to expect on the gauge")
    say(console, "Before the strings go on, the rod set for playing, mm by string:")
    bullets(console, [_reading(one) for one in expected.unstrung])
    say(console, "Strings at pitch, saddles set, mm by string:")
    bullets(console, [_reading(one) for one in expected.strung])
    bullets(console, listen_sentences(expected))


def _reading(reading: Reading) -> str:
    values = ", ".join(fixed(value, 2) for value in reading.value_mm.tolist())
    name = reading_name(reading)
    return f"{name[0].upper()}{name[1:]}: {values}; ± {fixed(2 * worst_u_mm(reading), 2)}."


def reading_name(reading: Reading) -> str:
    """The reading and the frets it is taken at, where the name does not say."""
    frets = sorted(set(reading.at_fret) - {0})
    if reading.what.startswith("string over") or not frets:
        return reading.what
    return f"{reading.what}, at fret {runs(frets)}"


def worst_u_mm(reading: Reading) -> float:
    """The largest standard uncertainty of its strings."""
    return float(max(reading.u_mm, default=0.0))


def listen_sentences(expected: Expected) -> list[str]:
    """Where a buzz would be heard first."""
    places = "; ".join(
        f"{position(c).lower()} over fret {c.worst_at} ({fixed(spare_mm(c), 3)} mm to spare, "
        f"± {fixed(2 * c.u_mm, 3)} mm)"
        for c in expected.listen
    )
    return [f"Listen first where least is to spare: {places}."] if places else []
