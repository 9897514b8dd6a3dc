"""What must hold between several keys of a playing file, and between it and the instrument."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.strings.playing import PlayingProfile
from analysis.strings.strings import string_loads
from analysis.strings.swings import deepest_per_newton
from daq.files.faults import Fault
from daq.files.known import Known

ACTION = "highest_action_mm"
#: Nobody plucks nearer the nut than fret 12.
FURTHEST_PLUCK = 0.5


def playing_rules(instrument: Instrument, known: Known) -> Iterator[Fault]:
    """Every fault between keys that can be told from what the file says."""
    yield from _pluck(instrument, known)
    yield from _bend_frets(instrument, known)
    profile = _swinging(known)
    if profile is not None:
        yield from low_action(profile, instrument)


def low_action(profile: PlayingProfile, instrument: Instrument) -> Iterator[Fault]:
    """Of the string whose swing over fret 12, plucked open, leaves the player's action least."""
    needed = _needed_mm(profile, instrument)
    highest = profile.highest_action(len(instrument.strings))
    worst = int(np.argmin(highest - needed))
    if highest[worst] > needed[worst]:
        return
    yield Fault(
        (ACTION,),
        f"{highest[worst]:.2f} mm for string {worst + 1}",
        f"more than {needed[worst]:.2f} mm, which that string needs over fret 12 when plucked "
        f"with {profile.pluck_force_n:g} N",
        "pluck more gently or nearer the saddle, accept a higher action, or fit heavier strings",
    )


def _needed_mm(profile: PlayingProfile, instrument: Instrument) -> FloatArray:
    """float[strings]: the open string's swing over fret 12."""
    strings = instrument.string_numbers
    twelfth = instrument.fret_x_mm(12.0, strings) - instrument.fret_x_mm(0.0, strings)
    lengths = instrument.speaking_mm(strings)
    pluck = profile.pluck_from_saddle_mm
    per_newton = [
        deepest_per_newton(load, lengths[[s]], twelfth[[s], None], pluck)[0, 0]
        for s, load in enumerate(string_loads(instrument))
    ]
    return np.asarray(profile.pluck_force_n * np.array(per_newton))


def _swinging(known: Known) -> PlayingProfile | None:
    """As much of the profile as says how far strings swing; None where any of it is at fault."""
    force, place = known.number("pluck_force_n"), known.number("pluck_from_saddle_mm")
    given = known.get(ACTION)
    if force is None or place is None or not isinstance(given, dict) or not given:
        return None
    heights = {string: known.number(ACTION, string) for string in known.steps(ACTION)}
    action = {s: mm for s, mm in heights.items() if isinstance(s, int) and mm is not None}
    if len(action) < len(given):
        return None
    return PlayingProfile("", force, place, 0.0, 0.0, action, 0.0)


def _pluck(instrument: Instrument, known: Known) -> Iterator[Fault]:
    place = known.number("pluck_from_saddle_mm")
    most = FURTHEST_PLUCK * min(instrument.scale_bass_mm, instrument.scale_treble_mm)
    if place is not None and place > most:
        allowed = f"at most half the scale, {most:g} mm"
        yield Fault(("pluck_from_saddle_mm",), f"{place:g}", allowed, "counted from the saddle")


def _bend_frets(instrument: Instrument, known: Known) -> Iterator[Fault]:
    frets = known.pair("bend_frets")
    if frets is None:
        return
    first, last = frets
    if first > last:
        hint = f"write [{last:g}, {first:g}]"
        yield Fault(("bend_frets",), f"[{first:g}, {last:g}]", "[from, to], from the nut", hint)
    elif last > instrument.frets:
        allowed = f"frets 1 to {instrument.frets}, which the instrument has"
        yield Fault(("bend_frets", 2), f"fret {last:g}", allowed)
