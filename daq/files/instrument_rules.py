"""What must hold between several keys of an instrument file."""

from __future__ import annotations

from collections.abc import Iterator

from daq.files.faults import Fault
from daq.files.instrument_strings import frequency_hz, string_rules
from daq.files.known import Known


def instrument_rules(known: Known) -> Iterator[Fault]:
    """Every fault between keys that can be told from what the file says."""
    yield from _frets(known)
    yield from _fan(known)
    yield from _board(known)
    yield from _spread(known)
    yield from _string_order(known)
    yield from string_rules(known)
    yield from _string_numbers(known)


def _frets(known: Known) -> Iterator[Fault]:
    frets = known.number("frets")
    if frets is None:
        return
    joint, square = known.number("body_joint_fret"), known.number("scale_mm", "square_fret")
    if joint is not None and joint >= frets:
        allowed = f"less than frets, which is {frets:g}"
        yield Fault(("body_joint_fret",), f"{joint:g}", allowed)
    if square is not None and square > frets:
        yield Fault(
            ("scale_mm", "square_fret"), f"{square:g}", f"at most frets, which is {frets:g}"
        )


def _fan(known: Known) -> Iterator[Fault]:
    bass, treble = known.number("scale_mm", "bass"), known.number("scale_mm", "treble")
    if bass is not None and treble is not None and bass < treble:
        allowed = f"at least the treble's {treble:g}"
        yield Fault(("scale_mm", "bass"), f"{bass:g}", allowed, "bass and treble look exchanged")


def _board(known: Known) -> Iterator[Fault]:
    for key in ("radius_mm", "width_mm"):
        ends = known.pair("board", key)
        if ends is not None and ends[0] > ends[1]:
            found = f"[{ends[0]:g}, {ends[1]:g}]"
            allowed = "[nut, last fret], the nut's not larger"
            yield Fault(("board", key), found, allowed, f"write [{ends[1]:g}, {ends[0]:g}]?")


def _spread(known: Known) -> Iterator[Fault]:
    spacing, width = known.pair("spacing_mm"), known.pair("board", "width_mm")
    gaps = len(known.steps("strings")) - 1
    if spacing is None or width is None or gaps < 1 or gaps * spacing[0] < width[0]:
        return
    yield Fault(
        ("spacing_mm", 1),
        f"{gaps} x {spacing[0]:g} = {gaps * spacing[0]:g} mm across the strings at the nut",
        f"less than the board's width there, {width[0]:g} mm",
        "spacing is from string to string",
    )


def _string_order(known: Known) -> Iterator[Fault]:
    pitches = [frequency_hz(known, number) for number in known.steps("strings")]
    pitched = [pitch for pitch in pitches if pitch is not None]
    # a re-entrant tuning or a drone may break the order, but none rises all the way
    if len(pitched) < len(pitches) or len(pitched) < 3 or pitched != sorted(set(pitched)):
        return
    yield Fault(
        ("strings",), "notes that rise from string to string", "string 1, the highest, first"
    )


def _string_numbers(known: Known) -> Iterator[Fault]:
    count = len(known.steps("strings"))
    for key in ("action_mm", "nut_gap_mm", "compensation_mm"):
        for string in known.steps(key):
            beyond = isinstance(string, int) and string > count > 0
            if beyond and known.number(key, string) is not None:
                yield Fault((key, string), f"string {string}", f"strings 1 to {count}")
