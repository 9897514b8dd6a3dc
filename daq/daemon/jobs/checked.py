"""What is asked, looked at as a whole: what holds, and what an instrument no longer allows."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from analysis.instrument import Instrument
from analysis.plan.target import ANYTHING, Target
from analysis.strings.kinds import profile_for
from analysis.strings.playing import BUILT_IN, PlayingProfile
from daq.daemon.jobs.asked import Asked
from daq.documents.target import target_document
from daq.errors import InputError
from daq.files.target import check_target

#: What a person calls the keys of a target file.
_CALLED = {
    "playing.highest_action_mm": "highest action",
    "playing.pluck_from_saddle_mm": "pluck point",
    "shape.frets": "anchors of the shape",
}
_NAME = "what is asked"
_LINE = re.compile(rf"^{_NAME}:\d+: ", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Checked:
    """asked: every key of a target file."""

    asked: Asked
    playing: PlayingProfile
    target: Target


def checked(asked: Mapping[str, Any], instrument: Instrument) -> Checked:
    """Raises InputError, a line for every fault, without lines of a file that nobody wrote."""
    try:
        playing, target = check_target(asked, _NAME, instrument)
    except InputError as error:
        raise InputError(_plainly(str(error))) from None
    return Checked(target_document(playing, target), playing, target)


def _plainly(said: str) -> str:
    said = _LINE.sub("", said)
    for key, called in _CALLED.items():
        said = said.replace(f"{key}: ", f"{called}: ").replace(f"{key}[", f"{called}[")
    return said


def first_asked(instrument: Instrument) -> Checked:
    """Everyday playing, and a plan free to do what it likes. Another player where that one
    cannot play this instrument. Raises InputError where none can."""
    faults = []
    for name in ("everyday", *BUILT_IN):
        playing = profile_for(name, instrument)
        try:
            return checked(target_document(playing, ANYTHING), instrument)
        except InputError as error:
            faults.append(str(error))
    raise InputError(faults[0])


def fitted(asked: Asked, instrument: Instrument) -> tuple[Checked, list[str]]:
    """As much of it as an instrument that has changed meanwhile still allows, and a sentence
    for everything that was dropped. Raises as `first_asked`."""
    try:
        return checked(asked, instrument), []
    except InputError:
        pass
    holds, dropped = first_asked(instrument), []
    for called, piece in _pieces(asked):
        try:
            holds = checked(_with(holds.asked, piece), instrument)
        except InputError as error:
            why = str(error).splitlines()[0]
            dropped.append(f"No longer asked, for the instrument's file changed: {called} ({why}).")
    return holds, dropped


def _with(asked: Asked, piece: Asked) -> Asked:
    """One group or list more."""
    new = dict(asked)
    for key, value in piece.items():
        both = isinstance(value, dict) and isinstance(asked[key], dict)
        if key == "hold":
            new[key] = {one: [*asked[key][one], *value.get(one, [])] for one in asked[key]}
        else:
            new[key] = {**asked[key], **value} if both and key != "playing" else value
    return new


def _pieces(asked: Asked) -> Iterator[tuple[str, Asked]]:
    yield "the player", {"playing": asked["playing"]}
    yield "the rod", {"rod": asked["rod"]}
    for key, called in (("saddles", "the saddle"), ("nut", "the nut slot")):
        screws = asked[key]
        if not isinstance(screws, dict):
            yield f"{called}s", {key: screws}
            continue
        for string, mm in screws.items():
            yield f"{called} of string {string}", {key: {string: mm}}
    for key, entries in asked["hold"].items():
        for one in entries:
            place = key == "places"
            called = f"fret {one[0]} under string {one[1]}" if place else f"{key[:-1]} {one}"
            yield f"{called} held back", {"hold": {key: [one]}}
    yield "the shape", {"shape": asked["shape"]}
