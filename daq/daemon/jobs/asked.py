"""What is asked of a job's plan, as a target file has it, and one field of it moved."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from analysis.instrument import Instrument
from analysis.strings.kinds import profile_for
from analysis.strings.playing import BUILT_IN
from daq.daemon.jobs.controls import controls_of
from daq.daemon.jobs.held import moved_hold
from daq.daemon.jobs.shaped import moved_shape
from daq.documents.playing import playing_document
from daq.errors import InputError
from daq.files.checks import is_number
from daq.files.faults import describe, nearest
from daq.files.playing import load_playing

Asked = dict[str, Any]
WORDS = ("free", "keep")
#: Behind the name of a player whose numbers are not that player's any more.
CHANGED = ", changed"
_SCREWS = {"saddle": "saddles", "nut": "nut"}
_PLAYER = (
    "pluck_force_n",
    "pluck_from_saddle_mm",
    "bend_semitones",
    "least_fret_mm",
    "guard",
)


def changed(asked: Asked, path: str, value: object, instrument: Instrument) -> Asked:
    """`asked` with one field moved; what was given stays as it is.

    Raises InputError in words for a path that is none, a value that is none of its, and a string
    or fret that the instrument has not. What must hold between fields is `checked`'s affair.
    """
    new = deepcopy(asked)
    first, *rest = path.split(".")
    if path == "player":
        new["playing"] = _player(value, instrument)
    elif path in _PLAYER:
        new["playing"][path] = controls_of(instrument)[path].number(value)
        new["playing"]["name"] = _name(new["playing"], instrument)
    elif path in ("action.first_mm", "action.last_mm"):
        string = 1 if path == "action.first_mm" else len(instrument.strings)
        height = controls_of(instrument)[path].number(value)
        new["playing"]["highest_action_mm"][str(string)] = height
        new["playing"]["name"] = _name(new["playing"], instrument)
    elif path == "rod":
        new["rod"] = value if value in WORDS else _turns(value, instrument)
    elif path in ("saddles", "nut"):
        new[path] = _word(path, value)
    elif first in _SCREWS and len(rest) == 1:
        key = _SCREWS[first]
        new[key] = _screw(asked[key], path, value, instrument)
    elif first == "hold":
        new["hold"] = moved_hold(asked["hold"], path, value, instrument)
    elif first == "shape":
        new["shape"] = moved_shape(asked["shape"], path, value, instrument)
    else:
        raise no_such(path, instrument)
    return new


def no_such(path: str, instrument: Instrument) -> InputError:
    """Nothing of that path can be moved."""
    known = [
        "player", *controls_of(instrument), "saddles", "nut", "shape",
        "hold.fret.N", "hold.string.N", "hold.place.FRET.STRING",
    ]  # fmt: skip
    hint = nearest(path, known)
    said = f"change: found {describe(path)}, which is nothing that can be asked for"
    return InputError(f"{said}; {hint}" if hint else said)


def _player(value: object, instrument: Instrument) -> Asked:
    if not isinstance(value, str) or value not in BUILT_IN:
        raise InputError(f"player: found {describe(value)}; allowed {', '.join(BUILT_IN)}")
    return playing_document(load_playing(value, instrument))


def _name(playing: Asked, instrument: Instrument) -> str:
    """What a player is called whose numbers were moved: the built-in one's name where they are
    its numbers again."""
    for name in BUILT_IN:
        if playing_document(profile_for(name, instrument)) == {**playing, "name": name}:
            return name
    return str(playing["name"]).removesuffix(CHANGED) + CHANGED


def _turns(value: object, instrument: Instrument) -> float:
    control = controls_of(instrument)["rod"]
    if not is_number(value):
        allowed = f"{' or '.join(WORDS)}, or {control.allowed}"
        raise InputError(f"{control.name}: found {describe(value)}; allowed {allowed}")
    return control.number(value)


def _word(path: str, value: object) -> object:
    if value not in WORDS:
        what = "saddles" if path == "saddles" else "nut slots"
        raise InputError(f"{what}: found {describe(value)}; allowed {' or '.join(WORDS)}")
    return value


def _screw(now: object, path: str, value: object, instrument: Instrument) -> object:
    """Of one string; None gives it up. Where all were kept, the others stay where they are."""
    numbers = range(1, len(instrument.strings) + 1)
    kind, _, number = path.partition(".")
    if number not in map(str, numbers):
        raise InputError(
            f"{'saddle' if kind == 'saddle' else 'nut slot'}, string {number[:12]}: found no such "
            f"string; allowed strings 1 to {len(instrument.strings)}, which the instrument has"
        )
    still = {str(n): 0.0 for n in numbers} if now == "keep" else {}
    asked = dict(now) if isinstance(now, dict) else still
    if value is None:
        asked.pop(number, None)
    else:
        asked[number] = controls_of(instrument)[path].number(value)
    return asked or "free"
