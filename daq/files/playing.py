"""Playing profiles: one that comes with the program, or a file of the same keys."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

from pydantic import BeforeValidator

from analysis.instrument import Instrument
from analysis.strings.kinds import profile_for
from analysis.strings.playing import BUILT_IN, PlayingProfile
from daq.errors import InputError
from daq.files.checks import Number, Pair, Text, Whole
from daq.files.faults import describe, nearest
from daq.files.playing_rules import low_action, playing_rules
from daq.files.read import read_text
from daq.files.strings_map import BY_STRING, StringNumber
from daq.files.userfile import UserFile, parse

Height = Annotated[float, BeforeValidator(Number(0.3, 6, "mm"))]
FretHeight = Annotated[float, BeforeValidator(Number(0.1, 2, "mm"))]
Fret = Annotated[int, BeforeValidator(Whole(1, 36, "(a fret)"))]


class PlayingFile(UserFile):
    """A checked playing file."""

    name: Annotated[str, BeforeValidator(Text())]
    pluck_force_n: Annotated[float, BeforeValidator(Number(0.02, 10, "N"))]
    pluck_from_saddle_mm: Annotated[float, BeforeValidator(Number(5, 500, "mm"))]
    bend_semitones: Annotated[float, BeforeValidator(Number(0, 5, "semitones"))]
    least_fret_mm: FretHeight
    highest_action_mm: Annotated[dict[StringNumber, Height], BeforeValidator(BY_STRING)]
    guard: Annotated[float, BeforeValidator(Number(0, 6, "standard uncertainties"))]
    least_bending_fret_mm: FretHeight | None = None
    bend_frets: (
        Annotated[tuple[Fret, Fret], BeforeValidator(Pair("a list [from, to] of frets"))] | None
    ) = None

    @property
    def record(self) -> PlayingProfile:
        """The profile as the analysis takes it."""
        return PlayingProfile(
            name=self.name,
            pluck_force_n=self.pluck_force_n,
            pluck_from_saddle_mm=self.pluck_from_saddle_mm,
            bend_semitones=self.bend_semitones,
            least_fret_mm=self.least_fret_mm,
            highest_action_mm=dict(self.highest_action_mm),
            guard=self.guard,
            least_bending_fret_mm=self.least_bending_fret_mm,
            bend_frets=self.bend_frets,
        )


def load_playing(name_or_path: str, instrument: Instrument) -> PlayingProfile:
    """A built-in profile by name, as it fits the instrument, or a playing file by path.

    Raises InputError: one line for an unknown name, one line for every fault of a file, one
    line for a profile that no setting of this instrument can meet.
    """
    if name_or_path in BUILT_IN:
        profile = profile_for(name_or_path, instrument)
        for fault in low_action(profile, instrument):
            raise InputError(f"playing profile {name_or_path}: {fault.text()}")
        return profile
    path = Path(name_or_path)
    # a bare word is a name; whether such a file happens to lie here must not change its meaning
    if not path.suffix and path.name == name_or_path:
        raise InputError(_unknown(name_or_path))
    return parse_playing(read_text(path, "playing file"), name_or_path, instrument).record


def parse_playing(text: str, name: str, instrument: Instrument) -> PlayingFile:
    """Check a playing file's text for an instrument; `name` is what it is called in messages."""
    return parse(PlayingFile, partial(playing_rules, instrument), text, name)


def _unknown(name: str) -> str:
    hint = nearest(name, BUILT_IN)
    allowed = f"{', '.join(BUILT_IN)} or the path of a YAML file"
    said = f"playing profile: found {describe(name)}; allowed {allowed}"
    return f"{said}; {hint}" if hint else said
