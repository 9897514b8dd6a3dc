"""What must hold between the keys of a target file, and between it and the instrument."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.plan.limits import SADDLE_RANGE_MM, nut_range_mm
from analysis.strings.kinds import profile_for
from analysis.strings.playing import BUILT_IN
from daq.files.checks import is_number
from daq.files.faults import Fault, KeyPath, describe
from daq.files.known import Known
from daq.files.playing_rules import low_action, playing_rules

#: Anchors nearer one another than this say nothing of what lies between.
CLOSEST_ANCHORS = 3


def target_rules(instrument: Instrument, known: Known) -> Iterator[Fault]:
    """Every fault between keys that can be told from what the file says."""
    yield from _player(instrument, known)
    strings = len(instrument.strings)
    low, high = SADDLE_RANGE_MM
    yield from _screws(known, "saddles", np.full(strings, low), np.full(strings, high))
    yield from _screws(known, "nut", *nut_range_mm(instrument))
    yield from _held(instrument, known)
    yield from _anchors(instrument, known)


def _player(instrument: Instrument, known: Known) -> Iterator[Fault]:
    name = known.text("playing") or "everyday"
    if known.steps("playing"):
        faults = playing_rules(instrument, known.under("playing"))
    elif name in BUILT_IN:
        faults = low_action(profile_for(name, instrument), instrument)
    else:
        return
    for fault in faults:
        yield replace(fault, path=("playing", *fault.path))


def _screws(known: Known, key: str, low: FloatArray, high: FloatArray) -> Iterator[Fault]:
    for string in known.steps(key):
        path: KeyPath = (key, string)
        if not isinstance(string, int) or not 1 <= string <= low.size:
            yield _no_string(path, string, low.size)
            continue
        value = known.get(*path)
        least, most = float(low[string - 1]), float(high[string - 1])
        if not is_number(value) or not least <= float(value) <= most:  # type: ignore[arg-type]
            allowed = f"a number from {least:.2f} to {most:.2f} mm, up positive"
            yield Fault(path, describe(value), allowed)


def _held(instrument: Instrument, known: Known) -> Iterator[Fault]:
    frets, strings = instrument.frets, len(instrument.strings)
    for key, most, what in (("frets", frets, _no_fret), ("strings", strings, _no_string)):
        for place in known.steps("hold", key):
            number = known.number("hold", key, place)
            if number is not None and number > most:
                yield what(("hold", key, place), int(number), most)
    for place in known.steps("hold", "places"):
        pair = known.pair("hold", "places", place)
        if pair is None:
            continue
        path: KeyPath = ("hold", "places", place)
        if pair[0] > frets:
            yield _no_fret((*path, 1), int(pair[0]), frets)
        if pair[1] > strings:
            yield _no_string((*path, 2), int(pair[1]), strings)


def _anchors(instrument: Instrument, known: Known) -> Iterator[Fault]:
    anchors = known.pair("shape", "frets")
    if anchors is None:
        return
    first, last = (int(fret) for fret in anchors)
    path: KeyPath = ("shape", "frets")
    if last - first < CLOSEST_ANCHORS:
        allowed = f"[from, to] from the nut, {CLOSEST_ANCHORS} frets apart at least"
        yield Fault(path, f"[{first}, {last}]", allowed)
    elif last > instrument.frets:
        yield _no_fret((*path, 2), last, instrument.frets)


def _no_fret(path: KeyPath, fret: int, frets: int) -> Fault:
    return Fault(path, f"fret {fret}", f"frets 1 to {frets}, which the instrument has")


def _no_string(path: KeyPath, string: object, strings: int) -> Fault:
    return Fault(path, f"string {string}", f"strings 1 to {strings}, which the instrument has")
