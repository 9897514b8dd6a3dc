"""Frets, strings and places held back from cutting: one of them held, or let go."""

from __future__ import annotations

from typing import Any

from analysis.instrument import Instrument
from daq.errors import InputError
from daq.files.faults import describe


def moved_hold(
    hold: dict[str, list[Any]], path: str, value: object, instrument: Instrument
) -> dict[str, list[Any]]:
    """`hold` of a target file with one entry more or less. path: hold.fret.N, hold.string.N or
    hold.place.FRET.STRING; value: true or false. Raises InputError in words."""
    key, entry, words = _entry(path, instrument)
    if not isinstance(value, bool):
        raise InputError(f"hold back {words}: found {describe(value)}; allowed true or false")
    others = [one for one in hold[key] if one != entry]
    return {**hold, key: sorted([*others, entry]) if value else others}


def _entry(path: str, instrument: Instrument) -> tuple[str, Any, str]:
    """Its key, the entry itself, and what it is called."""
    match path.split("."):
        case ["hold", "fret", number]:
            fret = _fret(number, instrument)
            return "frets", fret, f"fret {fret}"
        case ["hold", "string", number]:
            string = _string(number, instrument)
            return "strings", string, f"string {string}"
        case ["hold", "place", fret_number, string_number]:
            place = [_fret(fret_number, instrument), _string(string_number, instrument)]
            return "places", place, f"fret {place[0]} under string {place[1]}"
        case _:
            raise InputError(
                f"hold back: found {describe(path)}; allowed hold.fret.N, hold.string.N or "
                "hold.place.FRET.STRING"
            )


def _fret(number: str, instrument: Instrument) -> int:
    return _numbered("fret", number, instrument.frets)


def _string(number: str, instrument: Instrument) -> int:
    return _numbered("string", number, len(instrument.strings))


def _numbered(what: str, number: str, most: int) -> int:
    if number not in map(str, range(1, most + 1)):
        raise InputError(
            f"hold back: found {what} {number[:12]}; allowed {what}s 1 to {most}, which the "
            "instrument has"
        )
    return int(number)
